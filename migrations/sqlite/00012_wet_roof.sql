-- Whether the roof was wet when it was looked at, as far as that is known: some
-- defects are not judged on a wet one.

-- +goose Up

ALTER TABLE visits ADD COLUMN wet BOOLEAN CHECK (wet IN (0, 1));
