-- Watched neighbourhoods, and what own lives said when, so that the years left
-- can rest on the roofs of the place.

-- +goose Up

CREATE TABLE watches (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    neighbourhood TEXT NOT NULL CHECK (neighbourhood <> ''),
    from_on TEXT NOT NULL CHECK (from_on GLOB '????-??-??'),
    to_on TEXT CHECK (to_on GLOB '????-??-??'),
    notes TEXT NOT NULL,
    CHECK (to_on IS NULL OR to_on >= from_on)
);

CREATE TABLE life_fits (
    id INTEGER PRIMARY KEY,
    as_of TEXT NOT NULL CHECK (as_of GLOB '????-??-??'),
    made_at DATETIME NOT NULL,
    model_version TEXT NOT NULL,
    data_hash TEXT NOT NULL,
    rows INTEGER NOT NULL,
    events INTEGER NOT NULL,
    result TEXT NOT NULL
);

ALTER TABLE estimates ADD COLUMN life_fit_id INTEGER REFERENCES life_fits (id);
