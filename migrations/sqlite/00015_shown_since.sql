-- Since when it is written down to whom estimates are shown: in a file that is
-- older than that, from now on; in a new one from its first day, and then it is
-- empty. Of a look before it nobody can say that its estimate was not seen.

-- +goose Up

ALTER TABLE companies ADD COLUMN shown_since TEXT CHECK (shown_since GLOB '????-??-??');

UPDATE companies SET shown_since = date('now');
