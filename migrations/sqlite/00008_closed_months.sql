-- +goose Up

-- A month is closed once and never opened again; what it held is kept with it.
CREATE TABLE closed_months (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    month TEXT NOT NULL UNIQUE CHECK (month GLOB '????-??'),
    closed_on TEXT NOT NULL CHECK (closed_on GLOB '????-??-??'),
    person_id INTEGER REFERENCES people (id),
    closed_by TEXT NOT NULL,
    discount_rate REAL NOT NULL,
    callbacks_ahead REAL,
    mean_cost INTEGER,
    low INTEGER,
    high INTEGER,
    chain_error INTEGER,
    years_each INTEGER NOT NULL,
    no_chain_because TEXT NOT NULL,
    prepaid_opening INTEGER NOT NULL,
    prepaid_billed INTEGER NOT NULL,
    prepaid_earned INTEGER NOT NULL,
    prepaid_unearned INTEGER NOT NULL
);

CREATE TABLE closed_provisions (
    id INTEGER PRIMARY KEY,
    closed_month_id INTEGER NOT NULL REFERENCES closed_months (id),
    laid_year INTEGER NOT NULL,
    promises INTEGER NOT NULL,
    expected INTEGER,
    discounted INTEGER,
    paid INTEGER,
    chain_ladder INTEGER,
    chain_error INTEGER,
    after_triangle INTEGER,
    own_history INTEGER,
    pattern INTEGER,
    booked INTEGER NOT NULL,
    UNIQUE (closed_month_id, laid_year)
);

-- The entries outlive what they were made from, so that they name a cost line
-- by its number alone.
CREATE TABLE booked_entries (
    id INTEGER PRIMARY KEY,
    closed_month_id INTEGER NOT NULL REFERENCES closed_months (id),
    month TEXT NOT NULL CHECK (month GLOB '????-??'),
    kind TEXT NOT NULL,
    corrects TEXT NOT NULL,
    ref TEXT NOT NULL,
    cost_line_id INTEGER,
    bearer TEXT NOT NULL,
    laid_year INTEGER NOT NULL,
    happened_on TEXT NOT NULL CHECK (happened_on GLOB '????-??-??'),
    learned_on TEXT NOT NULL CHECK (learned_on GLOB '????-??-??'),
    amount INTEGER NOT NULL
);
CREATE INDEX booked_entries_month ON booked_entries (closed_month_id);
CREATE INDEX booked_entries_line ON booked_entries (cost_line_id);

-- +goose StatementBegin
CREATE TRIGGER closed_months_stay BEFORE UPDATE ON closed_months
BEGIN SELECT RAISE(ABORT, 'a closed month is never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER closed_months_last BEFORE DELETE ON closed_months
BEGIN SELECT RAISE(ABORT, 'a closed month is never opened again'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER closed_provisions_stay BEFORE UPDATE ON closed_provisions
BEGIN SELECT RAISE(ABORT, 'a closed provision is never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER closed_provisions_last BEFORE DELETE ON closed_provisions
BEGIN SELECT RAISE(ABORT, 'a closed provision is never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER booked_entries_stay BEFORE UPDATE ON booked_entries
BEGIN SELECT RAISE(ABORT, 'a booked entry is never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER booked_entries_last BEFORE DELETE ON booked_entries
BEGIN SELECT RAISE(ABORT, 'a booked entry is never removed'); END;
-- +goose StatementEnd
