-- SPDX-License-Identifier: MIT
--
-- Step 10: balances, what batches are weighed from, what was poured, made-up accords, fillings.

-- A balance as its owner knows it. It may be changed and removed: batches keep what it was.
CREATE TABLE balance (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    name TEXT NOT NULL CHECK (length(name) > 0),
    folded TEXT NOT NULL UNIQUE CHECK (length(folded) > 0), -- case and accents dropped
    readability INTEGER NOT NULL CHECK (readability BETWEEN 1 AND 9000000000000000), -- ug, one step
    repeatability INTEGER CHECK (repeatability > 0), -- ug, standard deviation; NULL: not measured
    least INTEGER CHECK (least > 0), -- ug, the smallest amount trusted; NULL: as the rule says
    capacity INTEGER CHECK (capacity > 0), -- ug; NULL: unknown
    made_at INTEGER NOT NULL,
    checksum INTEGER NOT NULL
) STRICT;

-- What a batch is to be weighed from; each row takes the place of the one before it (an over-pour
-- that was saved). None is ever changed.
CREATE TABLE batch_plan (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    batch INTEGER NOT NULL REFERENCES batch (id),
    balance TEXT, -- its name then; NULL: none of those kept
    readability INTEGER NOT NULL CHECK (readability > 0), -- the balance as it was then
    repeatability INTEGER CHECK (repeatability > 0),
    least INTEGER CHECK (least > 0),
    capacity INTEGER CHECK (capacity > 0),
    tolerance INTEGER NOT NULL CHECK (tolerance BETWEEN 1 AND 1000000000), -- 1e-9, k = 2
    cumulative INTEGER NOT NULL CHECK (cumulative IN (0, 1)), -- read without taring between pours
    way TEXT NOT NULL CHECK (way IN ('planned', 'restore', 'core', 'pull', 'accept')), -- why
    at INTEGER NOT NULL,
    checksum INTEGER NOT NULL
) STRICT;
CREATE INDEX batch_plan_batch ON batch_plan (batch, id);

-- One thing to weigh, in the order of pouring; its place stays through all plans of the batch.
CREATE TABLE batch_line (
    plan INTEGER NOT NULL REFERENCES batch_plan (id),
    place INTEGER NOT NULL CHECK (place > 0),
    line INTEGER NOT NULL CHECK (line > 0), -- of the trial: the first that asks for it
    material INTEGER NOT NULL REFERENCES material (id),
    bottle INTEGER REFERENCES bottle (id), -- NULL: none was on the shelf
    strength INTEGER NOT NULL CHECK (strength BETWEEN 1 AND 1000000000),
    solvent INTEGER REFERENCES material (id), -- NULL when neat
    target INTEGER NOT NULL CHECK (target BETWEEN 0 AND 9000000000000000), -- ug
    checksum INTEGER NOT NULL,
    PRIMARY KEY (plan, place)
) STRICT, WITHOUT ROWID;

-- What was put into the beaker. A correction is a new row that names the old one and says what was
-- poured in truth.
CREATE TABLE batch_pour (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    batch INTEGER NOT NULL REFERENCES batch (id),
    place INTEGER NOT NULL CHECK (place > 0), -- of its plan's line
    bottle INTEGER REFERENCES bottle (id), -- NULL: from none on the shelf
    mass INTEGER NOT NULL CHECK (mass BETWEEN 0 AND 9000000000000000), -- ug
    movement INTEGER REFERENCES movement (id), -- in the ledger; NULL: from no bottle, or nothing
    corrects INTEGER REFERENCES batch_pour (id), -- the pour it takes the place of
    note TEXT,
    at INTEGER NOT NULL,
    checksum INTEGER NOT NULL,
    CHECK (corrects < id)
) STRICT;
CREATE INDEX batch_pour_batch ON batch_pour (batch, id);
CREATE UNIQUE INDEX batch_pour_corrects ON batch_pour (corrects) WHERE corrects IS NOT NULL;

-- The material that bottles of a made-up trial are bottles of.
CREATE TABLE made_up (
    trial INTEGER PRIMARY KEY REFERENCES trial (id), -- a kept one
    material INTEGER NOT NULL REFERENCES material (id),
    made_at INTEGER NOT NULL, -- when it was made up first
    checksum INTEGER NOT NULL
) STRICT;

-- A concentrate that was filled.
CREATE TABLE filling (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    batch INTEGER REFERENCES batch (id), -- what the concentrate is of; NULL: something else
    concentrate INTEGER NOT NULL CHECK (concentrate > 0), -- ug, as all masses here
    ethanol INTEGER NOT NULL CHECK (ethanol >= 0),
    water INTEGER NOT NULL CHECK (water >= 0),
    other INTEGER NOT NULL CHECK (other >= 0),
    at_hand INTEGER NOT NULL CHECK (at_hand BETWEEN 1 AND 1000000000), -- the ethanol's strength by
        -- volume, 1e-9
    bottles INTEGER CHECK (bottles >= 0), -- NULL: not counted
    filter_on INTEGER, -- civil day on which it is to be filtered; NULL: none
    ready_on INTEGER, -- civil day until which it matures; NULL: none
    note TEXT,
    at INTEGER NOT NULL,
    checksum INTEGER NOT NULL
) STRICT;

-- ---- what never changes ------------------------------------------------------------------------

CREATE TRIGGER batch_plan_never_changed BEFORE UPDATE ON batch_plan BEGIN
    SELECT raise(ABORT, 'a batch''s plan is never changed, only followed by another');
END;
CREATE TRIGGER batch_plan_never_deleted BEFORE DELETE ON batch_plan BEGIN
    SELECT raise(ABORT, 'a batch''s plan is never deleted');
END;
CREATE TRIGGER batch_plan_taken BEFORE INSERT ON batch_plan
WHEN EXISTS (SELECT 1 FROM batch_plan WHERE id = NEW.id) BEGIN
    SELECT raise(ABORT, 'a batch''s plan is never replaced');
END;
CREATE TRIGGER batch_line_never_changed BEFORE UPDATE ON batch_line BEGIN
    SELECT raise(ABORT, 'a line of a batch''s plan is never changed');
END;
CREATE TRIGGER batch_line_never_deleted BEFORE DELETE ON batch_line BEGIN
    SELECT raise(ABORT, 'a line of a batch''s plan is never deleted');
END;
CREATE TRIGGER batch_line_taken BEFORE INSERT ON batch_line
WHEN EXISTS (SELECT 1 FROM batch_line WHERE plan = NEW.plan AND place = NEW.place) BEGIN
    SELECT raise(ABORT, 'a line of a batch''s plan is never replaced');
END;
CREATE TRIGGER batch_pour_never_changed BEFORE UPDATE ON batch_pour BEGIN
    SELECT raise(ABORT, 'what was poured is never changed, only corrected by another row');
END;
CREATE TRIGGER batch_pour_never_deleted BEFORE DELETE ON batch_pour BEGIN
    SELECT raise(ABORT, 'what was poured is never deleted');
END;
CREATE TRIGGER batch_pour_taken BEFORE INSERT ON batch_pour
WHEN EXISTS (SELECT 1 FROM batch_pour WHERE id = NEW.id) BEGIN
    SELECT raise(ABORT, 'what was poured is never replaced');
END;
CREATE TRIGGER batch_pour_moves BEFORE INSERT ON batch_pour
WHEN NEW.movement IS NOT NULL AND NOT EXISTS (
    SELECT 1 FROM movement WHERE id = NEW.movement AND bottle = NEW.bottle AND mass = -NEW.mass
        AND batch = NEW.batch) BEGIN
    SELECT raise(ABORT, 'the ledger and the record of a batch agree to the microgram');
END;
CREATE TRIGGER filling_never_changed BEFORE UPDATE ON filling BEGIN
    SELECT raise(ABORT, 'a filling is never changed');
END;
CREATE TRIGGER filling_never_deleted BEFORE DELETE ON filling BEGIN
    SELECT raise(ABORT, 'a filling is never deleted');
END;
CREATE TRIGGER filling_taken BEFORE INSERT ON filling
WHEN EXISTS (SELECT 1 FROM filling WHERE id = NEW.id) BEGIN
    SELECT raise(ABORT, 'a filling is never replaced');
END;
