-- One row a table that later migrations touch, as version 2 of the schema kept it.
INSERT INTO branches (id, version, created_at, updated_at, name, units, ventilation_code, climate_zone, climate_station, season_from, season_to, labour_rate, tax_rate,
    discount_rate, fiscal_year_start, time_zone, language, currency, visits_per_day, checkup_every_mths, storm_look_days, neighbour_radius, standing_lag_years)
VALUES (1, 1, '2020-01-01', '2020-01-01', 'Main', 'us', 'irc_2015', '6B', '', '04-15', '11-15', 0, 0, 0, 1, 'America/Denver', 'en', '$', 8, 12, 14, 300, 2);
INSERT INTO companies (id, version, created_at, updated_at, name, street, town, phone, email, ring_back_hours, demo)
VALUES (1, 1, '2020-01-01', '2020-01-01', 'An older company', '', '', '', '', 24, 0);
INSERT INTO houses (id, version, created_at, updated_at, ref, branch_id, parcel, neighbourhood, builder, plan, cladding, site_notes)
VALUES (1, 1, '2020-01-01', '2020-01-01', 'H-old', 1, '', '', '', '', '', '');
INSERT INTO structures (id, version, created_at, updated_at, house_id, name, kind) VALUES (1, 1, '2020-01-01', '2020-01-01', 1, 'main', 'main');
INSERT INTO attics (id, version, created_at, updated_at, structure_id, name, air_leaks, ducts, retarder) VALUES (1, 1, '2020-01-01', '2020-01-01', 1, 'main', '', '', '');
INSERT INTO vents (id, version, created_at, updated_at, attic_id, name, kind, height, count, free_area, blocked)
VALUES (7, 3, '2020-01-01', '2020-01-01', 1, 'roof boxes', 'box', 'high', 6, 0.032, 0.25);
