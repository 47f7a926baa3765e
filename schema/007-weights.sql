-- SPDX-License-Identifier: MIT
--
-- Step 7: lines remember what they weigh, cores are neat, a mode in which cores give way, lines that
-- rest. Checks cannot be loosened in place, so the two tables are made anew.

-- A version of a formula: its one draft, or a kept trial, which never changes again.
CREATE TABLE trial_new (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    formula INTEGER NOT NULL REFERENCES formula (id),
    number INTEGER CHECK (number > 0), -- 1, 2, 3... in the order kept; NULL for the draft
    parent INTEGER REFERENCES trial (id), -- kept trial it was started from
    head INTEGER REFERENCES revision (id), -- revision whose state it shows; NULL before the first
    mode TEXT NOT NULL CHECK (mode IN ('core', 'share', 'carrier', 'open')),
    base INTEGER NOT NULL CHECK (base BETWEEN 1 AND 1000000000000), -- total it is written to
    settled INTEGER NOT NULL CHECK (settled IN (0, 1)), -- the total is the base
    next_line INTEGER NOT NULL CHECK (next_line > 0), -- number for the next line added
    line_count INTEGER NOT NULL CHECK (line_count >= 0),
    total INTEGER NOT NULL CHECK (total >= 0), -- sum of the lines' parts
    content INTEGER NOT NULL, -- CRC-64 over all lines in their order
    made_at INTEGER NOT NULL,
    kept_at INTEGER, -- NULL for the draft
    note TEXT, -- given when kept
    scale_digits INTEGER CHECK (scale_digits BETWEEN 2305843009213693952 AND 4611686018427387903),
    scale_power INTEGER CHECK (scale_power BETWEEN 0 AND 4096), -- what a micro-part weighs:
        -- digits x 2^(power - 2048); NULL: one
    checksum INTEGER NOT NULL,
    UNIQUE (formula, number),
    CHECK ((scale_digits IS NULL) = (scale_power IS NULL)),
    CHECK ((number IS NULL) = (kept_at IS NULL))
) STRICT;
INSERT INTO trial_new (id, formula, number, parent, head, mode, base, settled, next_line, line_count,
    total, content, made_at, kept_at, note, checksum)
SELECT id, formula, number, parent, head, mode, base, settled, next_line, line_count, total, content,
    made_at, kept_at, note, checksum FROM trial;
-- Settled now says that the total is the base. A row that is damaged stays as it is.
UPDATE trial_new SET settled = total = base,
    checksum = pm_checksum('trial', id, formula, number, parent, head, mode, base, total = base,
        next_line, line_count, total, content, made_at, kept_at, note)
WHERE settled <> (total = base) AND checksum = pm_checksum('trial', id, formula, number, parent, head,
    mode, base, settled, next_line, line_count, total, content, made_at, kept_at, note);
DROP TABLE trial;
ALTER TABLE trial_new RENAME TO trial;
CREATE UNIQUE INDEX trial_draft ON trial (formula) WHERE kept_at IS NULL;
CREATE INDEX trial_parent ON trial (parent) WHERE parent IS NOT NULL;

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
    stance TEXT NOT NULL CHECK (stance IN ('free', 'held', 'carrier', 'resting')),
    core INTEGER NOT NULL CHECK (core BETWEEN 0 AND 702), -- 0: in no core
    weight INTEGER NOT NULL CHECK (weight BETWEEN 0 AND 1000000000000000000), -- in the core's
        -- neat ratio
    comment TEXT,
    share_digits INTEGER CHECK (share_digits BETWEEN 2305843009213693952 AND 4611686018427387903),
    share_power INTEGER CHECK (share_power BETWEEN 0 AND 4096), -- what a free line weighs, as the
        -- trial's scale; NULL: what its parts are worth
    rested INTEGER CHECK (rested BETWEEN 1 AND 1000000000000), -- parts a resting line had
    PRIMARY KEY (trial, line),
    CHECK ((material IS NULL) <> (accord IS NULL)),
    CHECK ((strength = 1000000000) = (solvent IS NULL)),
    CHECK (accord IS NULL OR strength = 1000000000),
    CHECK ((core = 0) = (weight = 0)),
    CHECK (stance <> 'carrier' OR core = 0),
    CHECK ((share_digits IS NULL) = (share_power IS NULL)),
    CHECK (share_digits IS NULL OR stance IN ('free', 'carrier')),
    CHECK (stance <> 'resting' OR parts = 0),
    CHECK (rested IS NULL OR stance = 'resting')
) STRICT, WITHOUT ROWID;
INSERT INTO line_new (trial, line, place, material, accord, strength, solvent, parts, stance, core,
    weight, comment)
SELECT trial, line, place, material, accord, strength, solvent, parts, stance, core, weight, comment
FROM line;
DROP TABLE line;
ALTER TABLE line_new RENAME TO line;
CREATE INDEX line_accord ON line (accord) WHERE accord IS NOT NULL;
-- Numbers of cores were those poured: src/store/neat.c turns them into neat ones.
SELECT pm_neat_cores();

CREATE TRIGGER trial_sealed_update BEFORE UPDATE ON trial
WHEN OLD.kept_at IS NOT NULL BEGIN
    SELECT raise(ABORT, 'a kept trial never changes');
END;

CREATE TRIGGER trial_identity BEFORE UPDATE ON trial
WHEN NEW.id <> OLD.id OR NEW.formula <> OLD.formula OR NEW.made_at <> OLD.made_at BEGIN
    SELECT raise(ABORT, 'a trial stays with its formula');
END;

CREATE TRIGGER trial_number_taken BEFORE UPDATE OF number ON trial
WHEN EXISTS (SELECT 1 FROM trial
             WHERE formula = NEW.formula AND number = NEW.number AND id <> OLD.id) BEGIN
    SELECT raise(ABORT, 'a kept trial never changes');
END;

CREATE TRIGGER trial_never_deleted BEFORE DELETE ON trial BEGIN
    SELECT raise(ABORT, 'a trial is never deleted');
END;

CREATE TRIGGER trial_taken BEFORE INSERT ON trial
WHEN EXISTS (SELECT 1 FROM trial WHERE id = NEW.id
             OR (formula = NEW.formula AND number IS NEW.number)) BEGIN
    SELECT raise(ABORT, 'a trial is never replaced');
END;

CREATE TRIGGER trial_born_as_draft BEFORE INSERT ON trial
WHEN NEW.kept_at IS NOT NULL BEGIN
    SELECT raise(ABORT, 'a trial begins as a draft');
END;

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

CREATE TRIGGER line_use_insert AFTER INSERT ON line BEGIN
    INSERT INTO material_use (material, formula)
    SELECT m.id, t.formula FROM trial AS t JOIN material AS m ON m.id IN (NEW.material, NEW.solvent)
    WHERE t.id = NEW.trial AND NOT EXISTS (SELECT 1 FROM material_use AS u
                                           WHERE u.material = m.id AND u.formula = t.formula);
END;

CREATE TRIGGER line_use_update AFTER UPDATE OF material, solvent ON line
WHEN NEW.material IS NOT OLD.material OR NEW.solvent IS NOT OLD.solvent BEGIN
    INSERT INTO material_use (material, formula)
    SELECT m.id, t.formula FROM trial AS t JOIN material AS m ON m.id IN (NEW.material, NEW.solvent)
    WHERE t.id = NEW.trial AND NOT EXISTS (SELECT 1 FROM material_use AS u
                                           WHERE u.material = m.id AND u.formula = t.formula);
END;
