-- Which visit told when a callback was looked at, so that the day follows that
-- visit when it is corrected, and no other.

-- +goose Up

ALTER TABLE callbacks ADD COLUMN looked_visit_id INTEGER REFERENCES visits (id);
