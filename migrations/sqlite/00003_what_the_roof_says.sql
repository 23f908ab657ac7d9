-- What the checks of quantities, ventilation, ice, water and details need: the
-- edition of the code and how its doubtful passages are read, the outline of
-- each slope, what lies at its eave, the attic's edge, and the gutter's place.

-- +goose Up

ALTER TABLE branches RENAME COLUMN ventilation_code TO building_code;
ALTER TABLE branches ADD COLUMN high_vents_there BOOLEAN NOT NULL DEFAULT 0 CHECK (high_vents_there IN (0, 1));
ALTER TABLE branches ADD COLUMN one_condition BOOLEAN NOT NULL DEFAULT 0 CHECK (one_condition IN (0, 1));
ALTER TABLE branches ADD COLUMN no_quarters BOOLEAN NOT NULL DEFAULT 0 CHECK (no_quarters IN (0, 1));
ALTER TABLE branches ADD COLUMN steep_eaves_removed BOOLEAN NOT NULL DEFAULT 0 CHECK (steep_eaves_removed IN (0, 1));
ALTER TABLE branches ADD COLUMN high_wind BOOLEAN NOT NULL DEFAULT 0 CHECK (high_wind IN (0, 1));
ALTER TABLE branches ADD COLUMN design_rain REAL CHECK (design_rain > 0);

ALTER TABLE structures ADD COLUMN heated BOOLEAN CHECK (heated IN (0, 1));
ALTER TABLE structures ADD COLUMN wall REAL;

ALTER TABLE attics ADD COLUMN clear_space REAL;
ALTER TABLE attics ADD COLUMN baffles BOOLEAN CHECK (baffles IN (0, 1));

ALTER TABLE slopes ADD COLUMN outline TEXT NOT NULL DEFAULT '';
ALTER TABLE slopes ADD COLUMN rafter REAL;
ALTER TABLE slopes ADD COLUMN eave_cover TEXT NOT NULL DEFAULT '' CHECK (eave_cover IN ('', 'membrane', 'felt', 'poly', 'none'));
ALTER TABLE slopes ADD COLUMN eave_reach REAL;

-- A light in the soffit lets air in, and is a kind of its own. SQLite changes a
-- check only with its table; nothing refers to vents.
CREATE TABLE vents_new (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    attic_id INTEGER NOT NULL REFERENCES attics (id),
    name TEXT NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('box', 'turbine', 'ridge', 'gable', 'soffit_strip', 'soffit_panel', 'soffit_light', 'drip_edge_vent', 'powered')),
    height TEXT NOT NULL CHECK (height IN ('low', 'high', 'between')),
    count INTEGER,
    length REAL,
    panel_area REAL,
    free_area REAL,
    blocked REAL CHECK (blocked BETWEEN 0 AND 1),
    fan_flow REAL,
    pitch_from REAL,
    pitch_to REAL,
    least_run REAL,
    installed_on TEXT CHECK (installed_on GLOB '????-??-??'),
    ended_on TEXT CHECK (ended_on GLOB '????-??-??'),
    UNIQUE (attic_id, name)
);
INSERT INTO vents_new (id, version, created_at, updated_at, attic_id, name, kind, height, count, length, panel_area, free_area, blocked, installed_on, ended_on)
    SELECT id, version, created_at, updated_at, attic_id, name, kind, height, count, length, panel_area, free_area, blocked, installed_on, ended_on FROM vents;
DROP TABLE vents;
ALTER TABLE vents_new RENAME TO vents;

ALTER TABLE gutter_runs ADD COLUMN depth REAL;
ALTER TABLE gutter_runs ADD COLUMN material TEXT NOT NULL DEFAULT '' CHECK (material IN ('', 'aluminium', 'copper', 'steel', 'galvanised', 'pvc'));
ALTER TABLE gutter_runs ADD COLUMN fall REAL CHECK (fall >= 0);
ALTER TABLE gutter_runs ADD COLUMN lip_reach REAL;
ALTER TABLE gutter_runs ADD COLUMN lip_drop REAL;
ALTER TABLE gutter_runs ADD COLUMN downspout_area REAL;
ALTER TABLE gutter_runs ADD COLUMN blocked REAL CHECK (blocked BETWEEN 0 AND 1);

ALTER TABLE details ADD COLUMN lower_edge_out BOOLEAN CHECK (lower_edge_out IN (0, 1));
ALTER TABLE details ADD COLUMN meets_ridge BOOLEAN CHECK (meets_ridge IN (0, 1));
