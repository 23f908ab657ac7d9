-- What callbacks ahead rest on besides our own history: how often houses are
-- sold and how costs grow; and scenarios, which a person builds and keeps.

-- +goose Up

ALTER TABLE branches ADD COLUMN turnover_rate REAL NOT NULL DEFAULT 0.06;
ALTER TABLE branches ADD COLUMN cost_growth REAL NOT NULL DEFAULT 0.03;

CREATE TABLE scenarios (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    name TEXT NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('bad_lot', 'lap_habit', 'hail_line', 'ice_winter')),
    lot TEXT NOT NULL,
    crew_id INTEGER REFERENCES crews (id),
    storm_id INTEGER REFERENCES storms (id),
    shape TEXT NOT NULL,
    half_width REAL NOT NULL,
    cause TEXT NOT NULL,
    year INTEGER,
    rate_times REAL NOT NULL,
    added REAL NOT NULL,
    cost_times REAL NOT NULL,
    bearers TEXT NOT NULL,
    notes TEXT NOT NULL,
    ended_on TEXT CHECK (ended_on GLOB '????-??-??')
);
