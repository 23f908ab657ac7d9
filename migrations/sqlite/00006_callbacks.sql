-- The whole course of a callback: our own promise for the look and the repair,
-- the crew, lot, subcontract and detail as they were, what was accepted, since
-- when it waits, each step with the day it happened and the day we learned of
-- it, cost lines that are corrected and never changed, and claims on others.

-- +goose Up

ALTER TABLE companies ADD COLUMN look_days INTEGER NOT NULL DEFAULT 0;
ALTER TABLE companies ADD COLUMN repair_days INTEGER NOT NULL DEFAULT 0;

ALTER TABLE callbacks ADD COLUMN crew_id INTEGER REFERENCES crews (id);
ALTER TABLE callbacks ADD COLUMN lot_id INTEGER REFERENCES lots (id);
ALTER TABLE callbacks ADD COLUMN subcontract_id INTEGER REFERENCES subcontracts (id);
ALTER TABLE callbacks ADD COLUMN detail_id INTEGER REFERENCES details (id);
ALTER TABLE callbacks ADD COLUMN look_by TEXT CHECK (look_by GLOB '????-??-??');
ALTER TABLE callbacks ADD COLUMN repair_by TEXT CHECK (repair_by GLOB '????-??-??');
ALTER TABLE callbacks ADD COLUMN waiting_since TEXT CHECK (waiting_since GLOB '????-??-??');
ALTER TABLE callbacks ADD COLUMN accepted_for TEXT NOT NULL DEFAULT '';
ALTER TABLE callbacks ADD COLUMN paid_on TEXT CHECK (paid_on GLOB '????-??-??');

-- The crew of the job that laid the roof, as far as it is known.
UPDATE callbacks SET crew_id = (SELECT crew_id FROM jobs WHERE jobs.id = job_id);

CREATE INDEX callbacks_crew ON callbacks (crew_id);
CREATE INDEX callbacks_return ON callbacks (return_of);

-- One step of a callback's course. Steps are added, and never changed.
CREATE TABLE callback_steps (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    callback_id INTEGER NOT NULL REFERENCES callbacks (id),
    claim_id INTEGER REFERENCES claims (id),
    kind TEXT NOT NULL,
    on_day TEXT NOT NULL CHECK (on_day GLOB '????-??-??'),
    learned_on TEXT NOT NULL CHECK (learned_on GLOB '????-??-??'),
    by_name TEXT NOT NULL,
    note TEXT NOT NULL,
    CHECK (learned_on >= on_day)
);
CREATE INDEX callback_steps_callback ON callback_steps (callback_id);

-- A correction takes a line back with the opposite sign, so that the check on
-- signs knows it. SQLite changes a check only with its table; nothing refers to
-- cost lines yet.
CREATE TABLE cost_lines_new (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    callback_id INTEGER NOT NULL REFERENCES callbacks (id),
    on_day TEXT NOT NULL CHECK (on_day GLOB '????-??-??'),
    learned_on TEXT NOT NULL CHECK (learned_on GLOB '????-??-??'),
    paid_on TEXT CHECK (paid_on GLOB '????-??-??'),
    kind TEXT NOT NULL CHECK (kind IN ('labour', 'material', 'subcontractor', 'access', 'disposal', 'tax', 'recovery', 'credit')),
    hours REAL,
    amount INTEGER NOT NULL,
    tax INTEGER NOT NULL,
    bearer TEXT NOT NULL CHECK (bearer IN ('', 'us', 'goodwill', 'maker', 'subcontractor', 'insurer', 'owner')),
    corrects INTEGER REFERENCES cost_lines (id),
    note TEXT NOT NULL,
    CHECK (amount = 0 OR corrects IS NOT NULL OR (kind IN ('recovery', 'credit')) = (amount < 0)),
    CHECK (learned_on >= on_day)
);
INSERT INTO cost_lines_new (id, version, created_at, updated_at, callback_id, on_day, learned_on, kind, hours, amount, tax, bearer, note)
    SELECT id, version, created_at, updated_at, callback_id, on_day, on_day, kind, hours, amount, 0, '', note FROM cost_lines;
DROP TABLE cost_lines;
ALTER TABLE cost_lines_new RENAME TO cost_lines;
CREATE INDEX cost_lines_callback ON cost_lines (callback_id);
CREATE INDEX cost_lines_corrects ON cost_lines (corrects);
CREATE INDEX cost_lines_learned ON cost_lines (learned_on);

CREATE TABLE claims (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    ref TEXT NOT NULL UNIQUE,
    callback_id INTEGER NOT NULL REFERENCES callbacks (id),
    warranty_id INTEGER REFERENCES warranties (id),
    against TEXT NOT NULL CHECK (against IN ('maker', 'subcontractor', 'insurer')),
    who TEXT NOT NULL,
    number TEXT NOT NULL,
    file_by TEXT CHECK (file_by GLOB '????-??-??'),
    filed_on TEXT CHECK (filed_on GLOB '????-??-??'),
    samples_sent_on TEXT CHECK (samples_sent_on GLOB '????-??-??'),
    visited_on TEXT CHECK (visited_on GLOB '????-??-??'),
    offered_on TEXT CHECK (offered_on GLOB '????-??-??'),
    offer INTEGER,
    answer_by TEXT CHECK (answer_by GLOB '????-??-??'),
    answered_on TEXT CHECK (answered_on GLOB '????-??-??'),
    answer TEXT NOT NULL CHECK (answer IN ('', 'accepted', 'declined', 'refused', 'withdrawn')),
    release_asked BOOLEAN NOT NULL CHECK (release_asked IN (0, 1)),
    release_read_by TEXT NOT NULL,
    release_signed_on TEXT CHECK (release_signed_on GLOB '????-??-??'),
    paid_on TEXT CHECK (paid_on GLOB '????-??-??'),
    paid INTEGER,
    cost_line_id INTEGER REFERENCES cost_lines (id),
    notes TEXT NOT NULL,
    CHECK ((paid_on IS NULL) = (paid IS NULL)),
    CHECK ((answered_on IS NULL) = (answer = ''))
);
CREATE INDEX claims_callback ON claims (callback_id);
CREATE INDEX claims_answer ON claims (answer, answer_by);
