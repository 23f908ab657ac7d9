-- The records, one table a noun. Columns are named after the fields of package
-- models. Days are YYYY-MM-DD or NULL when unknown, moments are UTC, money is
-- whole cents, quantities are SI. Text that is unknown is empty; a number that
-- is unknown is NULL.

-- +goose Up

CREATE TABLE companies (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    name TEXT NOT NULL,
    street TEXT NOT NULL,
    town TEXT NOT NULL,
    phone TEXT NOT NULL,
    email TEXT NOT NULL,
    ring_back_hours INTEGER NOT NULL,
    demo BOOLEAN NOT NULL CHECK (demo IN (0, 1))
);

CREATE TABLE branches (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    name TEXT NOT NULL,
    lat REAL,
    lon REAL,
    units TEXT NOT NULL CHECK (units IN ('us', 'metric')),
    ventilation_code TEXT NOT NULL,
    climate_zone TEXT NOT NULL,
    climate_station TEXT NOT NULL,
    season_from TEXT NOT NULL,
    season_to TEXT NOT NULL,
    labour_rate INTEGER NOT NULL,
    tax_rate REAL NOT NULL CHECK (tax_rate BETWEEN 0 AND 1),
    discount_rate REAL NOT NULL CHECK (discount_rate BETWEEN 0 AND 1),
    fiscal_year_start INTEGER NOT NULL,
    time_zone TEXT NOT NULL,
    language TEXT NOT NULL,
    currency TEXT NOT NULL,
    visits_per_day INTEGER NOT NULL,
    checkup_every_mths INTEGER NOT NULL,
    storm_look_days INTEGER NOT NULL,
    neighbour_radius REAL NOT NULL,
    standing_lag_years REAL NOT NULL,
    CHECK ((lat IS NULL) = (lon IS NULL))
);

CREATE TABLE people (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    email TEXT NOT NULL,
    name TEXT NOT NULL,
    password_hash TEXT NOT NULL,
    roles TEXT NOT NULL,
    demo BOOLEAN NOT NULL CHECK (demo IN (0, 1)),
    ended_on TEXT CHECK (ended_on GLOB '????-??-??'),
    UNIQUE (email)
);

CREATE TABLE sessions (
    token_hash TEXT NOT NULL,
    person_id INTEGER NOT NULL REFERENCES people (id),
    csrf TEXT NOT NULL,
    created_at DATETIME NOT NULL,
    last_seen_at DATETIME NOT NULL,
    expires_at DATETIME NOT NULL,
    browser TEXT NOT NULL,
    PRIMARY KEY (token_hash)
);

CREATE TABLE sign_in_attempts (
    id INTEGER PRIMARY KEY,
    who TEXT NOT NULL,
    at DATETIME NOT NULL
);

CREATE TABLE one_time_links (
    token_hash TEXT NOT NULL,
    purpose TEXT NOT NULL,
    person_id INTEGER REFERENCES people (id),
    expires_at DATETIME NOT NULL,
    used_at DATETIME,
    PRIMARY KEY (token_hash)
);

CREATE TABLE houses (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    ref TEXT NOT NULL UNIQUE,
    branch_id INTEGER NOT NULL REFERENCES branches (id),
    parcel TEXT NOT NULL,
    lat REAL,
    lon REAL,
    neighbourhood TEXT NOT NULL,
    builder TEXT NOT NULL,
    plan TEXT NOT NULL,
    build_year INTEGER,
    cladding TEXT NOT NULL CHECK (cladding IN ('', 'stucco', 'siding', 'brick', 'stone', 'mixed')),
    storeys INTEGER,
    trees BOOLEAN CHECK (trees IN (0, 1)),
    site_notes TEXT NOT NULL,
    ended_on TEXT CHECK (ended_on GLOB '????-??-??'),
    CHECK ((lat IS NULL) = (lon IS NULL))
);

CREATE TABLE addresses (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    house_id INTEGER NOT NULL REFERENCES houses (id),
    unit TEXT NOT NULL,
    number TEXT NOT NULL,
    street TEXT NOT NULL,
    town TEXT NOT NULL,
    region TEXT NOT NULL,
    postal_code TEXT NOT NULL,
    main BOOLEAN NOT NULL CHECK (main IN (0, 1)),
    alias BOOLEAN NOT NULL CHECK (alias IN (0, 1)),
    folded TEXT NOT NULL
);

CREATE TABLE contacts (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    ref TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('', 'person', 'condominium', 'manager', 'tenant', 'buyer')),
    phone TEXT NOT NULL,
    phone2 TEXT NOT NULL,
    email TEXT NOT NULL,
    language TEXT NOT NULL,
    notes TEXT NOT NULL,
    folded TEXT NOT NULL
);

CREATE TABLE holdings (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    house_id INTEGER NOT NULL REFERENCES houses (id),
    contact_id INTEGER NOT NULL REFERENCES contacts (id),
    role TEXT NOT NULL CHECK (role IN ('owner', 'tenant', 'manager')),
    from_on TEXT CHECK (from_on GLOB '????-??-??'),
    to_on TEXT CHECK (to_on GLOB '????-??-??'),
    notice_on TEXT CHECK (notice_on GLOB '????-??-??'),
    CHECK (to_on IS NULL OR from_on IS NULL OR to_on >= from_on)
);

CREATE TABLE structures (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    house_id INTEGER NOT NULL REFERENCES houses (id),
    name TEXT NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('main', 'garage', 'addition', 'porch')),
    installed_on TEXT CHECK (installed_on GLOB '????-??-??'),
    ended_on TEXT CHECK (ended_on GLOB '????-??-??'),
    UNIQUE (house_id, name)
);

CREATE TABLE attics (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    structure_id INTEGER NOT NULL REFERENCES structures (id),
    name TEXT NOT NULL,
    vented_area REAL,
    ceiling_area REAL,
    cathedral BOOLEAN CHECK (cathedral IN (0, 1)),
    insulation REAL,
    air_leaks TEXT NOT NULL CHECK (air_leaks IN ('', 'few', 'some', 'many')),
    kneewalls BOOLEAN CHECK (kneewalls IN (0, 1)),
    ducts TEXT NOT NULL CHECK (ducts IN ('', 'none', 'insulated', 'bare', 'ends_in_attic')),
    retarder TEXT NOT NULL CHECK (retarder IN ('', 'I', 'II', 'III', 'none')),
    frost_seen BOOLEAN CHECK (frost_seen IN (0, 1)),
    ended_on TEXT CHECK (ended_on GLOB '????-??-??'),
    UNIQUE (structure_id, name)
);

CREATE TABLE slopes (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    structure_id INTEGER NOT NULL REFERENCES structures (id),
    attic_id INTEGER REFERENCES attics (id),
    name TEXT NOT NULL,
    facing REAL,
    pitch REAL,
    area REAL,
    eave REAL,
    overhang REAL,
    installed_on TEXT CHECK (installed_on GLOB '????-??-??'),
    ended_on TEXT CHECK (ended_on GLOB '????-??-??'),
    UNIQUE (structure_id, name)
);

CREATE TABLE vents (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    attic_id INTEGER NOT NULL REFERENCES attics (id),
    name TEXT NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('box', 'turbine', 'ridge', 'gable', 'soffit_strip', 'soffit_panel', 'drip_edge_vent', 'powered')),
    height TEXT NOT NULL CHECK (height IN ('low', 'high', 'between')),
    count INTEGER,
    length REAL,
    panel_area REAL,
    free_area REAL,
    blocked REAL CHECK (blocked BETWEEN 0 AND 1),
    installed_on TEXT CHECK (installed_on GLOB '????-??-??'),
    ended_on TEXT CHECK (ended_on GLOB '????-??-??'),
    UNIQUE (attic_id, name)
);

CREATE TABLE gutter_runs (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    structure_id INTEGER NOT NULL REFERENCES structures (id),
    slope_id INTEGER REFERENCES slopes (id),
    name TEXT NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('', 'k_style', 'half_round', 'box')),
    width REAL,
    length REAL,
    downspouts INTEGER,
    guards BOOLEAN CHECK (guards IN (0, 1)),
    installed_on TEXT CHECK (installed_on GLOB '????-??-??'),
    ended_on TEXT CHECK (ended_on GLOB '????-??-??'),
    UNIQUE (structure_id, name)
);

CREATE TABLE details (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    structure_id INTEGER NOT NULL REFERENCES structures (id),
    slope_id INTEGER REFERENCES slopes (id),
    name TEXT NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('valley', 'dead_valley', 'saddle', 'chimney', 'skylight', 'penetration', 'step_flashing', 'kickout_flashing', 'drip_edge')),
    form TEXT NOT NULL CHECK (form IN ('', 'open_metal', 'woven', 'closed_cut', 'new', 'reused', 'missing')),
    lap REAL CHECK (lap BETWEEN 0 AND 1),
    width REAL,
    drains INTEGER,
    notes TEXT NOT NULL,
    installed_on TEXT CHECK (installed_on GLOB '????-??-??'),
    ended_on TEXT CHECK (ended_on GLOB '????-??-??'),
    UNIQUE (structure_id, name)
);

CREATE TABLE coverings (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    key TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,
    family TEXT NOT NULL CHECK (family IN ('asphalt_strip', 'asphalt_laminated', 'asphalt_interlocking', 'asphalt_organic', 'wood_shake', 'metal', 'tile', 'slate', 'low_slope_membrane', 'unknown')),
    bundles_per_square REAL,
    shingles_per_bundle REAL,
    nails_per_shingle INTEGER,
    price_per_square INTEGER NOT NULL,
    material_term_months INTEGER,
    ended_on TEXT CHECK (ended_on GLOB '????-??-??')
);

CREATE TABLE roofs (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    ref TEXT NOT NULL UNIQUE,
    house_id INTEGER NOT NULL REFERENCES houses (id),
    structure_id INTEGER REFERENCES structures (id),
    covering_id INTEGER REFERENCES coverings (id),
    laid_on TEXT NOT NULL CHECK (laid_on GLOB '????-??-??'),
    laid_precision TEXT NOT NULL CHECK (laid_precision IN ('day', 'month', 'year', 'about')),
    ended_on TEXT CHECK (ended_on GLOB '????-??-??'),
    end_reason TEXT NOT NULL CHECK (end_reason IN ('', 'worn_out', 'storm', 'sale', 'alteration', 'taste', 'unknown')),
    layers INTEGER,
    ours BOOLEAN NOT NULL CHECK (ours IN (0, 1)),
    pitch REAL,
    area REAL,
    colour TEXT NOT NULL,
    notes TEXT NOT NULL,
    CHECK ((ended_on IS NULL) = (end_reason = ''))
);

CREATE TABLE roof_slopes (
    roof_id INTEGER NOT NULL REFERENCES roofs (id),
    slope_id INTEGER NOT NULL REFERENCES slopes (id),
    PRIMARY KEY (roof_id, slope_id)
);

CREATE TABLE crews (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    name TEXT NOT NULL,
    ended_on TEXT CHECK (ended_on GLOB '????-??-??'),
    UNIQUE (name)
);

CREATE TABLE crew_members (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    crew_id INTEGER NOT NULL REFERENCES crews (id),
    name TEXT NOT NULL,
    from_on TEXT CHECK (from_on GLOB '????-??-??'),
    to_on TEXT CHECK (to_on GLOB '????-??-??')
);

CREATE TABLE jobs (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    ref TEXT NOT NULL UNIQUE,
    house_id INTEGER NOT NULL REFERENCES houses (id),
    part TEXT NOT NULL,
    sold_on TEXT CHECK (sold_on GLOB '????-??-??'),
    started_on TEXT CHECK (started_on GLOB '????-??-??'),
    inspected_on TEXT CHECK (inspected_on GLOB '????-??-??'),
    closed_on TEXT CHECK (closed_on GLOB '????-??-??'),
    paid_on TEXT CHECK (paid_on GLOB '????-??-??'),
    permit TEXT NOT NULL,
    price INTEGER NOT NULL,
    holdback INTEGER NOT NULL,
    payer TEXT NOT NULL,
    crew_id INTEGER REFERENCES crews (id),
    foreman TEXT NOT NULL,
    notes TEXT NOT NULL
);

CREATE TABLE job_roofs (
    job_id INTEGER NOT NULL REFERENCES jobs (id),
    roof_id INTEGER NOT NULL REFERENCES roofs (id),
    PRIMARY KEY (job_id, roof_id)
);

CREATE TABLE lots (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    job_id INTEGER NOT NULL REFERENCES jobs (id),
    covering_id INTEGER REFERENCES coverings (id),
    number TEXT NOT NULL,
    bundles REAL,
    UNIQUE (job_id, number)
);

CREATE TABLE subcontracts (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    job_id INTEGER NOT NULL REFERENCES jobs (id),
    part TEXT NOT NULL,
    who TEXT NOT NULL
);

CREATE TABLE declineds (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    job_id INTEGER NOT NULL REFERENCES jobs (id),
    what TEXT NOT NULL,
    signed_on TEXT NOT NULL CHECK (signed_on GLOB '????-??-??')
);

CREATE TABLE terms (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    key TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('workmanship', 'material', 'assumed')),
    term_months INTEGER NOT NULL,
    full_months INTEGER NOT NULL,
    share_method TEXT NOT NULL CHECK (share_method IN ('none', 'whole_term', 'prorated_span', 'steps')),
    steps TEXT NOT NULL,
    labour BOOLEAN NOT NULL CHECK (labour IN (0, 1)),
    material BOOLEAN NOT NULL CHECK (material IN (0, 1)),
    tear_off BOOLEAN NOT NULL CHECK (tear_off IN (0, 1)),
    disposal BOOLEAN NOT NULL CHECK (disposal IN (0, 1)),
    cap INTEGER,
    transfer TEXT NOT NULL CHECK (transfer IN ('never', 'once', 'by_notice', 'always')),
    notice_days INTEGER NOT NULL,
    after_transfer INTEGER,
    conditions TEXT NOT NULL,
    wording TEXT NOT NULL,
    ended_on TEXT CHECK (ended_on GLOB '????-??-??'),
    CHECK (full_months <= term_months)
);

CREATE TABLE warranties (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    ref TEXT NOT NULL UNIQUE,
    roof_id INTEGER NOT NULL REFERENCES roofs (id),
    job_id INTEGER REFERENCES jobs (id),
    terms_id INTEGER NOT NULL REFERENCES terms (id),
    owed_by TEXT NOT NULL,
    start_on TEXT NOT NULL CHECK (start_on GLOB '????-??-??'),
    wording TEXT NOT NULL,
    registration_due_on TEXT CHECK (registration_due_on GLOB '????-??-??'),
    registered_on TEXT CHECK (registered_on GLOB '????-??-??'),
    registration_no TEXT NOT NULL,
    assumed_from TEXT NOT NULL,
    ended_on TEXT CHECK (ended_on GLOB '????-??-??'),
    end_reason TEXT NOT NULL
);

CREATE TABLE plans (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    house_id INTEGER NOT NULL REFERENCES houses (id),
    contact_id INTEGER REFERENCES contacts (id),
    from_on TEXT CHECK (from_on GLOB '????-??-??'),
    to_on TEXT CHECK (to_on GLOB '????-??-??'),
    visits_a_year INTEGER NOT NULL,
    price_per_year INTEGER NOT NULL
);

CREATE TABLE callbacks (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    ref TEXT NOT NULL UNIQUE,
    house_id INTEGER REFERENCES houses (id),
    roof_id INTEGER REFERENCES roofs (id),
    job_id INTEGER REFERENCES jobs (id),
    warranty_id INTEGER REFERENCES warranties (id),
    contact_id INTEGER REFERENCES contacts (id),
    caller TEXT NOT NULL,
    phone TEXT NOT NULL,
    address_given TEXT NOT NULL,
    about TEXT NOT NULL,
    water_coming_in BOOLEAN NOT NULL CHECK (water_coming_in IN (0, 1)),
    happened_on TEXT CHECK (happened_on GLOB '????-??-??'),
    learned_on TEXT NOT NULL CHECK (learned_on GLOB '????-??-??'),
    ring_back_by DATETIME,
    rung_back_at DATETIME,
    attempts INTEGER NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('new', 'to_look', 'accepted', 'refused', 'repaired', 'closed')),
    waiting_on TEXT NOT NULL CHECK (waiting_on IN ('', 'weather', 'owner', 'maker', 'insurer', 'parts', 'crew')),
    cause_reported TEXT NOT NULL,
    cause_found TEXT NOT NULL,
    place TEXT NOT NULL,
    covered_on TEXT CHECK (covered_on GLOB '????-??-??'),
    looked_on TEXT CHECK (looked_on GLOB '????-??-??'),
    decided_on TEXT CHECK (decided_on GLOB '????-??-??'),
    refused_because TEXT NOT NULL,
    repaired_on TEXT CHECK (repaired_on GLOB '????-??-??'),
    closed_on TEXT CHECK (closed_on GLOB '????-??-??'),
    bearer TEXT NOT NULL CHECK (bearer IN ('', 'us', 'goodwill', 'maker', 'subcontractor', 'insurer', 'owner')),
    return_of INTEGER REFERENCES callbacks (id),
    notes TEXT NOT NULL,
    CHECK ((state = 'closed') = (closed_on IS NOT NULL))
);

CREATE TABLE calls (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    caller TEXT NOT NULL,
    phone TEXT NOT NULL,
    about TEXT NOT NULL,
    rang_at DATETIME NOT NULL,
    ring_back_by DATETIME,
    rung_back_at DATETIME,
    attempts INTEGER NOT NULL,
    contact_id INTEGER REFERENCES contacts (id),
    house_id INTEGER REFERENCES houses (id),
    callback_id INTEGER REFERENCES callbacks (id)
);

CREATE TABLE cost_lines (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    callback_id INTEGER NOT NULL REFERENCES callbacks (id),
    on_day TEXT NOT NULL CHECK (on_day GLOB '????-??-??'),
    kind TEXT NOT NULL CHECK (kind IN ('labour', 'material', 'subcontractor', 'access', 'disposal', 'tax', 'recovery', 'credit')),
    hours REAL,
    amount INTEGER NOT NULL,
    note TEXT NOT NULL,
    CHECK (amount = 0 OR (kind IN ('recovery', 'credit')) = (amount < 0))
);

CREATE TABLE storms (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    ref TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,
    on_day TEXT NOT NULL CHECK (on_day GLOB '????-??-??'),
    kind TEXT NOT NULL CHECK (kind IN ('hail', 'wind', 'hail_and_wind', 'ice', 'snow')),
    shape TEXT NOT NULL,
    closed BOOLEAN NOT NULL CHECK (closed IN (0, 1)),
    half_width REAL NOT NULL,
    hail_size REAL,
    gust REAL,
    notes TEXT NOT NULL
);

CREATE TABLE visits (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    ref TEXT NOT NULL UNIQUE,
    house_id INTEGER NOT NULL REFERENCES houses (id),
    roof_id INTEGER REFERENCES roofs (id),
    purpose TEXT NOT NULL CHECK (purpose IN ('checkup', 'storm_look', 'callback_look', 'repair', 'estimate')),
    offered_on TEXT CHECK (offered_on GLOB '????-??-??'),
    declined_on TEXT CHECK (declined_on GLOB '????-??-??'),
    booked_for TEXT CHECK (booked_for GLOB '????-??-??'),
    place_in_day INTEGER,
    done_on TEXT CHECK (done_on GLOB '????-??-??'),
    cancelled_on TEXT CHECK (cancelled_on GLOB '????-??-??'),
    by_name TEXT NOT NULL,
    person_id INTEGER REFERENCES people (id),
    method TEXT NOT NULL CHECK (method IN ('', 'walked', 'ladder', 'street', 'photo')),
    gutters BOOLEAN CHECK (gutters IN (0, 1)),
    storm_id INTEGER REFERENCES storms (id),
    callback_id INTEGER REFERENCES callbacks (id),
    notes TEXT NOT NULL,
    CHECK (done_on IS NULL OR cancelled_on IS NULL)
);

CREATE TABLE findings (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    visit_id INTEGER NOT NULL REFERENCES visits (id),
    slope_id INTEGER REFERENCES slopes (id),
    defect TEXT NOT NULL,
    look TEXT NOT NULL CHECK (look IN ('seen', 'none', 'not_looked')),
    severity INTEGER,
    extent REAL CHECK (extent BETWEEN 0 AND 1),
    note TEXT NOT NULL
);

CREATE TABLE estimates (
    id INTEGER PRIMARY KEY,
    roof_id INTEGER NOT NULL REFERENCES roofs (id),
    as_of TEXT NOT NULL CHECK (as_of GLOB '????-??-??'),
    made_at DATETIME NOT NULL,
    model_version TEXT NOT NULL,
    inputs_hash TEXT NOT NULL,
    age_years REAL NOT NULL,
    low REAL NOT NULL,
    middle REAL NOT NULL,
    high REAL NOT NULL,
    chance_past REAL NOT NULL CHECK (chance_past BETWEEN 0 AND 1),
    chance_in1 REAL NOT NULL CHECK (chance_in1 BETWEEN 0 AND 1),
    chance_in2 REAL NOT NULL CHECK (chance_in2 BETWEEN 0 AND 1),
    chance_in5 REAL NOT NULL CHECK (chance_in5 BETWEEN 0 AND 1),
    too_new BOOLEAN NOT NULL CHECK (too_new IN (0, 1)),
    result TEXT NOT NULL
);

CREATE TABLE prospects (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    house_id INTEGER NOT NULL REFERENCES houses (id),
    state TEXT NOT NULL CHECK (state IN ('not_called', 'nobody_home', 'spoke', 'come_back', 'wants_a_look', 'no')),
    next_on TEXT CHECK (next_on GLOB '????-??-??'),
    seller_id INTEGER REFERENCES people (id),
    consent_on TEXT CHECK (consent_on GLOB '????-??-??'),
    consent_for TEXT NOT NULL,
    signs_posted BOOLEAN NOT NULL CHECK (signs_posted IN (0, 1)),
    notes TEXT NOT NULL,
    UNIQUE (house_id)
);

CREATE TABLE knocks (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    house_id INTEGER NOT NULL REFERENCES houses (id),
    person_id INTEGER REFERENCES people (id),
    at DATETIME NOT NULL,
    outcome TEXT NOT NULL CHECK (outcome IN ('nobody_home', 'spoke', 'come_back', 'wants_a_look', 'no')),
    note TEXT NOT NULL
);

CREATE TABLE stop_entries (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    folded TEXT NOT NULL,
    address TEXT NOT NULL,
    asked_on TEXT NOT NULL CHECK (asked_on GLOB '????-??-??'),
    reason TEXT NOT NULL,
    UNIQUE (folded)
);

CREATE TABLE photos (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL,
    created_at DATETIME NOT NULL,
    updated_at DATETIME NOT NULL,
    house_id INTEGER NOT NULL REFERENCES houses (id),
    job_id INTEGER REFERENCES jobs (id),
    visit_id INTEGER REFERENCES visits (id),
    finding_id INTEGER REFERENCES findings (id),
    file_name TEXT NOT NULL,
    media_type TEXT NOT NULL,
    bytes INTEGER NOT NULL,
    taken_at DATETIME,
    caption TEXT NOT NULL
);

CREATE TABLE audit_entries (
    id INTEGER PRIMARY KEY,
    at DATETIME NOT NULL,
    person_id INTEGER REFERENCES people (id),
    by_name TEXT NOT NULL,
    record TEXT NOT NULL,
    record_id INTEGER NOT NULL,
    action TEXT NOT NULL,
    changes TEXT NOT NULL
);

CREATE TABLE job_runs (
    id INTEGER PRIMARY KEY,
    job TEXT NOT NULL,
    day TEXT NOT NULL CHECK (day GLOB '????-??-??'),
    started_at DATETIME NOT NULL,
    finished_at DATETIME,
    outcome TEXT NOT NULL CHECK (outcome IN ('running', 'done', 'failed')),
    detail TEXT NOT NULL,
    UNIQUE (job, day)
);

CREATE TABLE imports (
    id INTEGER PRIMARY KEY,
    at DATETIME NOT NULL,
    person_id INTEGER REFERENCES people (id),
    by_name TEXT NOT NULL,
    kind TEXT NOT NULL,
    file_name TEXT NOT NULL,
    sha256 TEXT NOT NULL,
    new_rows INTEGER NOT NULL,
    changed_rows INTEGER NOT NULL,
    unchanged_rows INTEGER NOT NULL
);
