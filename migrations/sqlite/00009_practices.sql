-- Changes of practice, so that what came after can be held against what came
-- before.

-- +goose Up

CREATE TABLE practices (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    what TEXT NOT NULL,
    from_on TEXT NOT NULL CHECK (from_on GLOB '????-??-??'),
    crew_id INTEGER REFERENCES crews (id),
    causes TEXT NOT NULL,
    notes TEXT NOT NULL
);
