-- SPDX-License-Identifier: MIT
--
-- Step 2: what is known of materials, bottles and their ledger, planned batches, rates of exchange,
-- and the log of what was done to the shelf.
--
-- Units beside those of step 1: masses in micrograms, money in 1e-6 of the currency's unit, rates in
-- 1e-9, days as the Unix second at which they begin. Everything said about a material has an origin:
-- `own` was entered by the person and always stands over `starter`, which came with the program;
-- a newer starter set replaces starter rows and nothing else.

-- One property of a material: a number or words.
CREATE TABLE material_fact (
    material INTEGER NOT NULL REFERENCES material (id) ON DELETE CASCADE,
    property TEXT NOT NULL CHECK (length(property) > 0), -- "density": include/permille/core/fact.h
    origin TEXT NOT NULL CHECK (origin IN ('own', 'starter')),
    value INTEGER, -- 1e-9 of the property's unit, which never changes; or
    words TEXT CHECK (length(words) > 0),
    source TEXT, -- where it is published, or who said so
    confidence TEXT NOT NULL CHECK (confidence IN ('checked', 'memory', 'own')),
    checksum INTEGER NOT NULL,
    PRIMARY KEY (material, property, origin),
    CHECK ((value IS NULL) <> (words IS NULL))
) STRICT, WITHOUT ROWID;
CREATE INDEX material_fact_low ON material_fact (material, value) WHERE property = 'low';
CREATE INDEX material_family ON material (family) WHERE family IS NOT NULL;

-- What a natural holds of which substance.
CREATE TABLE material_constituent (
    material INTEGER NOT NULL REFERENCES material (id) ON DELETE CASCADE,
    origin TEXT NOT NULL CHECK (origin IN ('own', 'starter')),
    place INTEGER NOT NULL CHECK (place >= 0), -- order shown
    name TEXT NOT NULL CHECK (length(name) > 0),
    cas TEXT,
    least INTEGER CHECK (least BETWEEN 0 AND 1000000000), -- mass fractions in 1e-9; NULL: unknown
    typical INTEGER CHECK (typical BETWEEN 0 AND 1000000000),
    most INTEGER CHECK (most BETWEEN 0 AND 1000000000),
    source TEXT,
    confidence TEXT NOT NULL CHECK (confidence IN ('checked', 'memory', 'own')),
    checksum INTEGER NOT NULL,
    PRIMARY KEY (material, origin, place)
) STRICT, WITHOUT ROWID;

-- Which material a name of the starter set stands for here, be it renamed since.
CREATE TABLE material_starter (
    material INTEGER PRIMARY KEY REFERENCES material (id) ON DELETE CASCADE,
    name TEXT NOT NULL UNIQUE CHECK (length(name) > 0),
    checksum INTEGER NOT NULL
) STRICT;

-- One physical container; on the label stands B and its number. Never deleted.
CREATE TABLE bottle (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    material INTEGER NOT NULL REFERENCES material (id),
    strength INTEGER NOT NULL CHECK (strength BETWEEN 1 AND 1000000000),
    solvent INTEGER REFERENCES material (id), -- NULL exactly when neat
    lot TEXT,
    supplier TEXT,
    bought INTEGER, -- days; NULL: unknown
    opened INTEGER,
    best_before INTEGER,
    place TEXT,
    tare INTEGER CHECK (tare > 0), -- mass of the empty bottle
    price INTEGER CHECK (price >= 0), -- paid for priced_mass of its content; NULL: unknown
    currency TEXT CHECK (length(currency) = 3), -- ISO 4217
    priced_mass INTEGER CHECK (priced_mass > 0),
    note TEXT,
    made_from INTEGER REFERENCES bottle (id) CHECK (made_from <> id), -- the stock it was diluted from
    set_aside INTEGER NOT NULL CHECK (set_aside IN (0, 1)), -- finished, or entered by mistake
    made_at INTEGER NOT NULL, -- when it was entered
    checksum INTEGER NOT NULL,
    CHECK ((strength = 1000000000) = (solvent IS NULL)),
    CHECK ((price IS NULL) = (currency IS NULL) AND (price IS NULL) = (priced_mass IS NULL))
) STRICT;
CREATE INDEX bottle_material ON bottle (material);
CREATE INDEX bottle_solvent ON bottle (solvent) WHERE solvent IS NOT NULL;
CREATE INDEX bottle_best_before ON bottle (best_before) WHERE best_before IS NOT NULL;

-- The ledger of every bottle. What is left is the sum of its masses.
CREATE TABLE movement (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    bottle INTEGER NOT NULL REFERENCES bottle (id),
    kind TEXT NOT NULL CHECK (kind IN ('received', 'poured', 'counted', 'moved', 'spilled',
                                       'discarded', 'corrected')),
    mass INTEGER NOT NULL CHECK (mass BETWEEN -9000000000000000 AND 9000000000000000), -- signed
    found INTEGER CHECK (found >= 0), -- counted: what was there; mass is the difference it made
    other INTEGER REFERENCES bottle (id) CHECK (other <> bottle), -- where it went to or came from
    batch TEXT, -- what it was poured for
    note TEXT,
    corrects INTEGER REFERENCES movement (id), -- the movement a correction is about
    at INTEGER NOT NULL, -- when it happened
    checksum INTEGER NOT NULL,
    CHECK ((kind = 'counted') = (found IS NOT NULL)),
    CHECK ((kind = 'corrected') = (corrects IS NOT NULL)),
    CHECK (kind <> 'received' OR mass > 0),
    CHECK (kind NOT IN ('poured', 'moved', 'spilled', 'discarded') OR mass < 0)
) STRICT;
CREATE INDEX movement_bottle ON movement (bottle, id);
CREATE INDEX movement_corrects ON movement (corrects) WHERE corrects IS NOT NULL;

-- The sum of each bottle's ledger, kept by the triggers below; `permille verify` adds it up again.
CREATE TABLE bottle_left (
    bottle INTEGER PRIMARY KEY REFERENCES bottle (id),
    mass INTEGER NOT NULL,
    movements INTEGER NOT NULL CHECK (movements >= 0)
) STRICT;

-- What a currency was worth on a day: one unit is `rate` of the other. Newer rows of a day count.
CREATE TABLE currency_rate (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    currency TEXT NOT NULL CHECK (length(currency) = 3),
    other TEXT NOT NULL CHECK (length(other) = 3 AND other <> currency),
    rate INTEGER NOT NULL CHECK (rate > 0),
    day INTEGER NOT NULL,
    at INTEGER NOT NULL, -- when it was entered
    checksum INTEGER NOT NULL
) STRICT;
CREATE INDEX currency_rate_pair ON currency_rate (currency, other, day, id);

-- A batch somebody means to weigh: what the shopping list is made from.
CREATE TABLE planned_batch (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    trial INTEGER NOT NULL REFERENCES trial (id),
    mass INTEGER NOT NULL CHECK (mass BETWEEN 1 AND 9000000000000000),
    day INTEGER, -- meant for; NULL: some time
    note TEXT,
    done INTEGER NOT NULL CHECK (done IN (0, 1)), -- weighed or given up
    made_at INTEGER NOT NULL,
    checksum INTEGER NOT NULL
) STRICT;

-- What was done to the shelf, in one line of history. An entry with a change can be undone; one
-- without (an import, an undo) stands beside that line.
CREATE TABLE shelf_entry (
    id INTEGER PRIMARY KEY CHECK (id > 0), -- 1, 2, 3... without gaps
    parent INTEGER REFERENCES shelf_entry (id), -- the entry it was made on; NULL: the first
    target INTEGER REFERENCES shelf_entry (id), -- the entry undone or redone
    at INTEGER NOT NULL,
    gesture TEXT NOT NULL CHECK (length(gesture) > 0), -- "edit", "bottle", "dilute", "undo"...
    sentence TEXT NOT NULL, -- for the person
    change TEXT, -- rows before and after, movements made: src/store/shelf_log.c
    checksum INTEGER NOT NULL,
    CHECK ((gesture IN ('undo', 'redo')) = (target IS NOT NULL)),
    CHECK (target IS NULL OR change IS NULL)
) STRICT;
CREATE INDEX shelf_entry_parent ON shelf_entry (parent, id);

-- The entry whose state the shelf shows.
CREATE TABLE shelf_head (
    one INTEGER PRIMARY KEY CHECK (one = 1),
    entry INTEGER REFERENCES shelf_entry (id) -- NULL: before the first
) STRICT;
INSERT INTO shelf_head (one, entry) VALUES (1, NULL);

-- ---- what never changes ------------------------------------------------------------------------

CREATE TRIGGER bottle_never_deleted BEFORE DELETE ON bottle BEGIN
    SELECT raise(ABORT, 'a bottle is never deleted, only set aside');
END;
CREATE TRIGGER bottle_identity BEFORE UPDATE ON bottle
WHEN NEW.id <> OLD.id OR NEW.made_at <> OLD.made_at BEGIN
    SELECT raise(ABORT, 'a bottle keeps its number');
END;

CREATE TRIGGER movement_never_changed BEFORE UPDATE ON movement BEGIN
    SELECT raise(ABORT, 'a movement is never changed, only corrected by another');
END;
CREATE TRIGGER movement_never_deleted BEFORE DELETE ON movement BEGIN
    SELECT raise(ABORT, 'a movement is never deleted');
END;
CREATE TRIGGER movement_taken BEFORE INSERT ON movement
WHEN EXISTS (SELECT 1 FROM movement WHERE id = NEW.id) BEGIN
    SELECT raise(ABORT, 'a movement is never replaced');
END;

CREATE TRIGGER currency_rate_never_changed BEFORE UPDATE ON currency_rate BEGIN
    SELECT raise(ABORT, 'a rate is never changed, only followed by a newer one');
END;
CREATE TRIGGER currency_rate_never_deleted BEFORE DELETE ON currency_rate BEGIN
    SELECT raise(ABORT, 'a rate is never deleted');
END;
CREATE TRIGGER currency_rate_taken BEFORE INSERT ON currency_rate
WHEN EXISTS (SELECT 1 FROM currency_rate WHERE id = NEW.id) BEGIN
    SELECT raise(ABORT, 'a rate is never replaced');
END;

CREATE TRIGGER shelf_entry_never_changed BEFORE UPDATE ON shelf_entry BEGIN
    SELECT raise(ABORT, 'an entry of the shelf''s history never changes');
END;
CREATE TRIGGER shelf_entry_never_deleted BEFORE DELETE ON shelf_entry BEGIN
    SELECT raise(ABORT, 'an entry of the shelf''s history is never deleted');
END;
CREATE TRIGGER shelf_entry_taken BEFORE INSERT ON shelf_entry
WHEN EXISTS (SELECT 1 FROM shelf_entry WHERE id = NEW.id) BEGIN
    SELECT raise(ABORT, 'an entry of the shelf''s history is never replaced');
END;

-- ---- what else must hold -----------------------------------------------------------------------

CREATE TRIGGER bottle_left_begins AFTER INSERT ON bottle BEGIN
    INSERT INTO bottle_left (bottle, mass, movements) VALUES (NEW.id, 0, 0);
END;
CREATE TRIGGER bottle_left_follows AFTER INSERT ON movement BEGIN
    UPDATE bottle_left SET mass = mass + NEW.mass, movements = movements + 1
    WHERE bottle = NEW.bottle;
END;
CREATE TRIGGER movement_corrects_own BEFORE INSERT ON movement
WHEN NEW.corrects IS NOT NULL
    AND (SELECT bottle FROM movement WHERE id = NEW.corrects) IS NOT NEW.bottle BEGIN
    SELECT raise(ABORT, 'a correction is about a movement of the same bottle');
END;
