-- SPDX-License-Identifier: MIT
--
-- Step 14: what is written by the hundred thousand costs less. A CHECK with a list of three words or
-- more makes SQLite build a small table of them for every row; the same words joined by OR cost
-- nothing. Folded names had two indexes where one finds the same. What a line uses was gathered by a
-- join for every row; it is looked up. Nothing else changes; since checks cannot be changed in place,
-- the tables are made anew.

DROP INDEX material_name_first;

-- One row of a trial: a material at a strength, or an accord at one of its kept trials.
CREATE TABLE line_new (
    trial INTEGER NOT NULL REFERENCES trial (id),
    line INTEGER NOT NULL CHECK (line > 0), -- stays with the line through every gesture
    place INTEGER NOT NULL CHECK (place >= 0), -- order shown, from 0
    material INTEGER REFERENCES material (id), -- either a material
    accord INTEGER REFERENCES trial (id), -- or a kept trial of another formula
    strength INTEGER NOT NULL CHECK (strength BETWEEN 1 AND 1000000000),
    solvent INTEGER REFERENCES material (id), -- NULL exactly when neat
    parts INTEGER NOT NULL CHECK (parts BETWEEN 0 AND 1000000000000), -- as poured
    stance TEXT NOT NULL CHECK (stance = 'free' OR stance = 'held' OR stance = 'carrier'
                                OR stance = 'resting'),
    core INTEGER NOT NULL CHECK (core BETWEEN 0 AND 702), -- 0: in no core
    weight INTEGER NOT NULL CHECK (weight BETWEEN 0 AND 1000000000000000000), -- in the core's
        -- neat ratio
    comment TEXT,
    share_digits INTEGER CHECK (share_digits BETWEEN 2305843009213693952 AND 4611686018427387903),
    share_power INTEGER CHECK (share_power BETWEEN 0 AND 4096), -- what a free line weighs, as the
        -- trial's scale; NULL: what its parts are worth
    rested INTEGER CHECK (rested BETWEEN 1 AND 1000000000000), -- parts a resting line had
    rested_as TEXT CHECK (rested_as IS NULL OR (stance = 'resting' AND (rested_as = 'held'
        OR rested_as = 'carrier'))), -- NULL: it was free
    PRIMARY KEY (trial, line),
    CHECK ((material IS NULL) <> (accord IS NULL)),
    CHECK ((strength = 1000000000) = (solvent IS NULL)),
    CHECK (accord IS NULL OR strength = 1000000000),
    CHECK ((core = 0) = (weight = 0)),
    CHECK (stance <> 'carrier' OR core = 0),
    CHECK ((share_digits IS NULL) = (share_power IS NULL)),
    CHECK (share_digits IS NULL OR stance = 'free' OR stance = 'carrier'),
    CHECK (stance <> 'resting' OR parts = 0),
    CHECK (rested IS NULL OR stance = 'resting')
) STRICT, WITHOUT ROWID;
INSERT INTO line_new (trial, line, place, material, accord, strength, solvent, parts, stance, core,
    weight, comment, share_digits, share_power, rested, rested_as)
SELECT trial, line, place, material, accord, strength, solvent, parts, stance, core, weight, comment,
    share_digits, share_power, rested, rested_as FROM line;
DROP TABLE line;

-- What one can buy. Names stand in material_name.
CREATE TABLE material_new (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    kind TEXT NOT NULL CHECK (kind = 'chemical' OR kind = 'natural' OR kind = 'solvent'
                              OR kind = 'blend'),
    cas TEXT CHECK (length(cas) BETWEEN 7 AND 12), -- "106-22-9", check digit verified; or unknown
    family TEXT CHECK (length(family) > 0),        -- odour family in the person's own word
    note TEXT,
    set_aside INTEGER NOT NULL CHECK (set_aside IN (0, 1)), -- out of sight, still referred to
    merged_into INTEGER REFERENCES material (id) CHECK (merged_into <> id), -- what it turned out to be
    made_at INTEGER NOT NULL,
    checksum INTEGER NOT NULL
) STRICT;
INSERT INTO material_new (id, kind, cas, family, note, set_aside, merged_into, made_at, checksum)
SELECT id, kind, cas, family, note, set_aside, merged_into, made_at, checksum FROM material;
DROP TABLE material;
ALTER TABLE material_new RENAME TO material;
CREATE INDEX material_cas ON material (cas) WHERE cas IS NOT NULL;
CREATE INDEX material_merged ON material (merged_into) WHERE merged_into IS NOT NULL;
CREATE INDEX material_family ON material (family) WHERE family IS NOT NULL;

-- What is known of a material: the person's own figures, and those that came with the program.
CREATE TABLE material_fact_new (
    material INTEGER NOT NULL REFERENCES material (id) ON DELETE CASCADE,
    property TEXT NOT NULL CHECK (length(property) > 0), -- "density": include/permille/core/fact.h
    origin TEXT NOT NULL CHECK (origin IN ('own', 'starter')),
    value INTEGER, -- 1e-9 of the property's unit, which never changes; or
    words TEXT CHECK (length(words) > 0),
    source TEXT, -- where it is published, or who said so
    confidence TEXT NOT NULL CHECK (confidence = 'checked' OR confidence = 'memory'
                                    OR confidence = 'own'),
    checksum INTEGER NOT NULL,
    PRIMARY KEY (material, property, origin),
    CHECK ((value IS NULL) <> (words IS NULL))
) STRICT, WITHOUT ROWID;
INSERT INTO material_fact_new (material, property, origin, value, words, source, confidence, checksum)
SELECT material, property, origin, value, words, source, confidence, checksum FROM material_fact;
DROP TABLE material_fact;
ALTER TABLE material_fact_new RENAME TO material_fact;
CREATE INDEX material_fact_low ON material_fact (material, value) WHERE property = 'low';

ALTER TABLE line_new RENAME TO line;
CREATE INDEX line_accord ON line (accord) WHERE accord IS NOT NULL;

CREATE TRIGGER line_sealed_insert BEFORE INSERT ON line
WHEN (SELECT kept_at FROM trial WHERE id = NEW.trial) IS NOT NULL BEGIN
    SELECT raise(ABORT, 'a line of a kept trial never changes');
END;

CREATE TRIGGER line_sealed_update BEFORE UPDATE ON line
WHEN NEW.trial <> OLD.trial OR (SELECT kept_at FROM trial WHERE id = OLD.trial) IS NOT NULL BEGIN
    SELECT raise(ABORT, 'a line of a kept trial never changes');
END;

CREATE TRIGGER line_sealed_delete BEFORE DELETE ON line
WHEN (SELECT kept_at FROM trial WHERE id = OLD.trial) IS NOT NULL BEGIN
    SELECT raise(ABORT, 'a line of a kept trial never changes');
END;

CREATE TRIGGER line_accord_kept_insert BEFORE INSERT ON line
WHEN NEW.accord IS NOT NULL AND (SELECT kept_at FROM trial WHERE id = NEW.accord) IS NULL BEGIN
    SELECT raise(ABORT, 'an accord line names a kept trial');
END;

CREATE TRIGGER line_accord_kept_update BEFORE UPDATE OF accord ON line
WHEN NEW.accord IS NOT NULL AND (SELECT kept_at FROM trial WHERE id = NEW.accord) IS NULL BEGIN
    SELECT raise(ABORT, 'an accord line names a kept trial');
END;

-- Which formulas have ever held which material.
CREATE TRIGGER line_use_insert AFTER INSERT ON line
WHEN NEW.material IS NOT NULL
 AND NOT EXISTS (SELECT 1 FROM trial AS t JOIN material_use AS u ON u.formula = t.formula
                 WHERE t.id = NEW.trial AND u.material = NEW.material)
 AND EXISTS (SELECT 1 FROM trial AS t JOIN material AS m WHERE t.id = NEW.trial AND m.id = NEW.material) BEGIN
    INSERT INTO material_use (material, formula)
    VALUES (NEW.material, (SELECT formula FROM trial WHERE id = NEW.trial));
END;

CREATE TRIGGER line_use_update AFTER UPDATE OF material ON line
WHEN NEW.material IS NOT OLD.material AND NEW.material IS NOT NULL
 AND NOT EXISTS (SELECT 1 FROM trial AS t JOIN material_use AS u ON u.formula = t.formula
                 WHERE t.id = NEW.trial AND u.material = NEW.material)
 AND EXISTS (SELECT 1 FROM trial AS t JOIN material AS m WHERE t.id = NEW.trial AND m.id = NEW.material) BEGIN
    INSERT INTO material_use (material, formula)
    VALUES (NEW.material, (SELECT formula FROM trial WHERE id = NEW.trial));
END;

CREATE TRIGGER line_use_solvent_insert AFTER INSERT ON line
WHEN NEW.solvent IS NOT NULL
 AND NOT EXISTS (SELECT 1 FROM trial AS t JOIN material_use AS u ON u.formula = t.formula
                 WHERE t.id = NEW.trial AND u.material = NEW.solvent)
 AND EXISTS (SELECT 1 FROM trial AS t JOIN material AS m WHERE t.id = NEW.trial AND m.id = NEW.solvent) BEGIN
    INSERT INTO material_use (material, formula)
    VALUES (NEW.solvent, (SELECT formula FROM trial WHERE id = NEW.trial));
END;

CREATE TRIGGER line_use_solvent_update AFTER UPDATE OF solvent ON line
WHEN NEW.solvent IS NOT OLD.solvent AND NEW.solvent IS NOT NULL
 AND NOT EXISTS (SELECT 1 FROM trial AS t JOIN material_use AS u ON u.formula = t.formula
                 WHERE t.id = NEW.trial AND u.material = NEW.solvent)
 AND EXISTS (SELECT 1 FROM trial AS t JOIN material AS m WHERE t.id = NEW.trial AND m.id = NEW.solvent) BEGIN
    INSERT INTO material_use (material, formula)
    VALUES (NEW.solvent, (SELECT formula FROM trial WHERE id = NEW.trial));
END;
