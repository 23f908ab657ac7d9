-- What terms say on paper, their further caps, and the certificates that were
-- given to homeowners, kept as they read on the day.

-- +goose Up

ALTER TABLE terms ADD COLUMN claim_cap INTEGER;
ALTER TABLE terms ADD COLUMN cap_of_price REAL CHECK (cap_of_price > 0);
ALTER TABLE terms ADD COLUMN title TEXT NOT NULL DEFAULT '' CHECK (title IN ('', 'full', 'limited'));
ALTER TABLE terms ADD COLUMN remedy TEXT NOT NULL DEFAULT '';
ALTER TABLE terms ADD COLUMN excluded TEXT NOT NULL DEFAULT '';
ALTER TABLE terms ADD COLUMN how_to_claim TEXT NOT NULL DEFAULT '';
ALTER TABLE terms ADD COLUMN rights TEXT NOT NULL DEFAULT '';

CREATE TABLE certificates (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    warranty_id INTEGER NOT NULL REFERENCES warranties (id),
    given_on TEXT NOT NULL CHECK (given_on GLOB '????-??-??'),
    given_to TEXT NOT NULL,
    body TEXT NOT NULL
);
CREATE INDEX certificates_by_warranty ON certificates (warranty_id);
