-- An index for each listing, and for each foreign key that is followed back.

-- +goose Up

CREATE INDEX sessions_person ON sessions (person_id);
CREATE INDEX sessions_expiry ON sessions (expires_at);
CREATE INDEX sign_in_attempts_who ON sign_in_attempts (who, at);

CREATE INDEX houses_neighbourhood ON houses (neighbourhood, id);
CREATE INDEX houses_position ON houses (lat, lon);
CREATE INDEX addresses_house ON addresses (house_id, main);
CREATE INDEX addresses_street ON addresses (street, number);
CREATE INDEX addresses_folded ON addresses (folded);
CREATE INDEX contacts_folded ON contacts (folded);
CREATE INDEX holdings_house ON holdings (house_id, to_on);
CREATE INDEX holdings_contact ON holdings (contact_id);

CREATE INDEX slopes_attic ON slopes (attic_id);
CREATE INDEX gutter_runs_slope ON gutter_runs (slope_id);
CREATE INDEX details_slope ON details (slope_id);

CREATE INDEX roofs_house ON roofs (house_id, ended_on);
CREATE INDEX roofs_ours ON roofs (ours, ended_on, laid_on);
CREATE INDEX roofs_covering ON roofs (covering_id);
CREATE INDEX roof_slopes_slope ON roof_slopes (slope_id);

CREATE INDEX crew_members_crew ON crew_members (crew_id);
CREATE INDEX jobs_house ON jobs (house_id);
CREATE INDEX jobs_crew ON jobs (crew_id);
CREATE INDEX jobs_closed ON jobs (closed_on);
CREATE INDEX job_roofs_roof ON job_roofs (roof_id);
CREATE INDEX subcontracts_job ON subcontracts (job_id);
CREATE INDEX declineds_job ON declineds (job_id);

CREATE INDEX warranties_roof ON warranties (roof_id);
CREATE INDEX warranties_job ON warranties (job_id);
CREATE INDEX warranties_start ON warranties (ended_on, start_on);
CREATE INDEX warranties_registration ON warranties (registration_due_on) WHERE registered_on IS NULL;
CREATE INDEX plans_house ON plans (house_id);

CREATE INDEX callbacks_state ON callbacks (state, learned_on);
CREATE INDEX callbacks_house ON callbacks (house_id);
CREATE INDEX callbacks_roof ON callbacks (roof_id);
CREATE INDEX callbacks_job ON callbacks (job_id);
CREATE INDEX calls_callback ON calls (callback_id);
CREATE INDEX calls_house ON calls (house_id);
CREATE INDEX cost_lines_callback ON cost_lines (callback_id);

CREATE INDEX visits_house ON visits (house_id, done_on);
CREATE INDEX visits_roof ON visits (roof_id, done_on);
CREATE INDEX visits_booked ON visits (booked_for, place_in_day);
CREATE INDEX visits_callback ON visits (callback_id);
CREATE INDEX visits_storm ON visits (storm_id);
CREATE INDEX findings_visit ON findings (visit_id);
CREATE INDEX storms_day ON storms (on_day);

CREATE INDEX estimates_roof ON estimates (roof_id, as_of, id);
CREATE INDEX prospects_state ON prospects (state, next_on);
CREATE INDEX knocks_house ON knocks (house_id, at);

CREATE INDEX photos_house ON photos (house_id);
CREATE INDEX photos_job ON photos (job_id);
CREATE INDEX photos_visit ON photos (visit_id);

CREATE INDEX audit_entries_record ON audit_entries (record, record_id, id);
CREATE INDEX imports_at ON imports (at);
