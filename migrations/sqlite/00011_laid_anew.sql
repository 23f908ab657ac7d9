-- What a callback's repair laid anew of the covering: a part of so much area, on
-- one slope or anywhere, or a whole slope. The years left are estimated from it.

-- +goose Up

ALTER TABLE callbacks ADD COLUMN relaid TEXT NOT NULL DEFAULT '' CHECK (relaid IN ('', 'part', 'whole_slope'));
ALTER TABLE callbacks ADD COLUMN relaid_slope_id INTEGER REFERENCES slopes (id);
ALTER TABLE callbacks ADD COLUMN relaid_area REAL;
