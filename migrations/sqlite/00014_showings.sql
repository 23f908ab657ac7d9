-- To whom the estimate of a roof was shown and when, and what they last said of
-- going to look at it; and of a look, whether whoever made it had been shown it
-- before, as far as that is known.

-- +goose Up

CREATE TABLE showings (
    person_id INTEGER NOT NULL REFERENCES people (id),
    roof_id INTEGER NOT NULL REFERENCES roofs (id),
    shown_on TEXT CHECK (shown_on GLOB '????-??-??'),
    said TEXT NOT NULL CHECK (said IN ('', 'looks', 'looks_not')),
    said_on TEXT CHECK (said_on GLOB '????-??-??'),
    PRIMARY KEY (person_id, roof_id),
    CHECK ((said = '') = (said_on IS NULL))
) WITHOUT ROWID;

ALTER TABLE visits ADD COLUMN seen_before BOOLEAN CHECK (seen_before IN (0, 1));
