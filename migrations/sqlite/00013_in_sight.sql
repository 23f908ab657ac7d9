-- Which slopes could be seen from where a visit looked: a list of their numbers,
-- empty where none could. NULL is that nobody said.

-- +goose Up

ALTER TABLE visits ADD COLUMN in_sight TEXT;
