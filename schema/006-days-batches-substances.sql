-- SPDX-License-Identifier: MIT
--
-- Step 6: days are days, what was poured names the trial, batches with what happened to them,
-- substances that constituents refer to.
--
-- A day is now a civil day: days since 1970-01-01, whatever the zone it is looked at from. It was
-- the second at which the day began where it was typed, or, for what was noted as it happened, the
-- moment itself.

-- ---- helpers, gone at the end ------------------------------------------------------------------

-- What the seconds that stood for days become. One that is midnight here, or no whole quarter of an
-- hour and so a moment, is the day it is here; any other began a day in some other zone, and that
-- day is the nearest one of UTC.
CREATE TABLE civil (
    second INTEGER PRIMARY KEY,
    day INTEGER NOT NULL
) STRICT;
INSERT INTO civil (second, day)
SELECT second, CASE
    WHEN second % 900 <> 0 OR strftime('%H%M%S', second, 'unixepoch', 'localtime') = '000000'
    THEN CAST(julianday(date(second, 'unixepoch', 'localtime')) - 2440587.5 AS INTEGER)
    WHEN second + 43200 >= 0 THEN (second + 43200) / 86400
    ELSE (second + 43200 - 86399) / 86400 END
FROM (
    SELECT bought AS second FROM bottle UNION SELECT opened FROM bottle
    UNION SELECT best_before FROM bottle UNION SELECT day FROM planned_batch
    UNION SELECT day FROM currency_rate
    UNION SELECT image ->> place FROM (
        SELECT v.value ->> 2 AS image FROM shelf_entry AS e, json_each(e.change) AS v
        WHERE v.value ->> 0 = 'bottle'
        UNION SELECT v.value ->> 3 FROM shelf_entry AS e, json_each(e.change) AS v
        WHERE v.value ->> 0 = 'bottle'), (SELECT 5 AS place UNION SELECT 6 UNION SELECT 7)
    WHERE image IS NOT NULL
    UNION SELECT (v.value ->> 3) ->> 2 FROM shelf_entry AS e, json_each(e.change) AS v
    WHERE v.value ->> 0 = 'plan')
WHERE second IS NOT NULL AND second BETWEEN -62135596800 AND 253402300799;

-- ---- substances --------------------------------------------------------------------------------

-- A chemical substance as reference lists and analyses speak of it, be it on the shelf or not.
CREATE TABLE substance (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    name TEXT NOT NULL CHECK (length(name) > 0),
    folded TEXT NOT NULL UNIQUE CHECK (length(folded) > 0), -- case and accents dropped
    checksum INTEGER NOT NULL
) STRICT;

-- The CAS numbers it goes by: several are known for some, and several substances share one.
CREATE TABLE substance_cas (
    substance INTEGER NOT NULL REFERENCES substance (id),
    cas TEXT NOT NULL CHECK (length(cas) BETWEEN 7 AND 12), -- check digit verified
    checksum INTEGER NOT NULL,
    PRIMARY KEY (substance, cas)
) STRICT, WITHOUT ROWID;
CREATE INDEX substance_cas_number ON substance_cas (cas);

-- Every name and number that constituents were given, those in the shelf's history as well.
CREATE TABLE named (
    name TEXT NOT NULL,
    cas TEXT
) STRICT;
INSERT INTO named (name, cas)
SELECT name, cas FROM material_constituent
UNION
SELECT c.value ->> 2, c.value ->> 3 FROM (
    SELECT v.value ->> 2 AS image FROM shelf_entry AS e, json_each(e.change) AS v
    WHERE v.value ->> 0 IN ('constituents', 'shipped constituents')
    UNION SELECT v.value ->> 3 FROM shelf_entry AS e, json_each(e.change) AS v
    WHERE v.value ->> 0 IN ('constituents', 'shipped constituents')) AS i, json_each(i.image) AS c;

INSERT INTO substance (id, name, folded, checksum)
SELECT row_number() OVER (ORDER BY folded), name, folded, 0
FROM (SELECT min(name) AS name, pm_fold(name) AS folded FROM named GROUP BY pm_fold(name));
UPDATE substance SET checksum = pm_checksum('substance', id, name, folded);
INSERT INTO substance_cas (substance, cas, checksum)
SELECT DISTINCT s.id, n.cas, pm_checksum('substance_cas', s.id, n.cas)
FROM named AS n JOIN substance AS s ON s.folded = pm_fold(n.name)
WHERE length(n.cas) BETWEEN 7 AND 12;

-- What a natural holds of which substance.
CREATE TABLE constituent (
    material INTEGER NOT NULL REFERENCES material (id) ON DELETE CASCADE,
    origin TEXT NOT NULL CHECK (origin IN ('own', 'starter')),
    place INTEGER NOT NULL CHECK (place >= 0), -- order shown
    substance INTEGER NOT NULL REFERENCES substance (id),
    least INTEGER CHECK (least BETWEEN 0 AND 1000000000), -- mass fractions in 1e-9; NULL: unknown
    typical INTEGER CHECK (typical BETWEEN 0 AND 1000000000),
    most INTEGER CHECK (most BETWEEN 0 AND 1000000000),
    source TEXT,
    confidence TEXT NOT NULL CHECK (confidence IN ('checked', 'memory', 'own')),
    checksum INTEGER NOT NULL,
    PRIMARY KEY (material, origin, place)
) STRICT, WITHOUT ROWID;
CREATE INDEX constituent_substance ON constituent (substance);
INSERT INTO constituent (material, origin, place, substance, least, typical, most, source,
                         confidence, checksum)
SELECT c.material, c.origin, c.place, s.id, c.least, c.typical, c.most, c.source, c.confidence,
       pm_checksum('constituent', c.material, c.origin, c.place, s.id, c.least, c.typical, c.most,
                   c.source, c.confidence)
FROM material_constituent AS c JOIN substance AS s ON s.folded = pm_fold(c.name);
DROP TABLE material_constituent;

-- ---- batches -----------------------------------------------------------------------------------

-- A batch of a kept trial: planned, weighed, finished or given up. Never deleted.
CREATE TABLE batch (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    trial INTEGER NOT NULL REFERENCES trial (id),
    mass INTEGER NOT NULL CHECK (mass BETWEEN 1 AND 9000000000000000),
    day INTEGER, -- civil day it is meant for; NULL: some time
    note TEXT,
    made_by TEXT CHECK (length(made_by) > 0), -- who weighs it; NULL: the person themself
    made_at INTEGER NOT NULL, -- when it was entered
    checksum INTEGER NOT NULL
) STRICT;
CREATE INDEX batch_trial ON batch (trial);

-- What happened to it. The newest row that is no note tells how it stands.
CREATE TABLE batch_event (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    batch INTEGER NOT NULL REFERENCES batch (id),
    kind TEXT NOT NULL CHECK (kind IN ('planned', 'started', 'paused', 'finished', 'given up',
                                       'note')),
    at INTEGER NOT NULL,
    text TEXT, -- in words; or NULL
    checksum INTEGER NOT NULL,
    CHECK (kind <> 'note' OR length(text) > 0)
) STRICT;
CREATE INDEX batch_event_batch ON batch_event (batch, id);

INSERT INTO batch (id, trial, mass, day, note, made_by, made_at, checksum)
SELECT id, trial, mass, (SELECT c.day FROM civil AS c WHERE c.second = p.day), note, NULL, made_at,
       0
FROM planned_batch AS p;
UPDATE batch SET checksum = pm_checksum('batch', id, trial, mass, day, note, made_by, made_at);
-- Planned: event number = the batch's; done with: the numbers after those.
INSERT INTO batch_event (id, batch, kind, at, text, checksum)
SELECT id, id, 'planned', made_at, NULL, 0 FROM batch;
INSERT INTO batch_event (id, batch, kind, at, text, checksum)
SELECT (SELECT max(id) FROM batch) + p.id, p.id, 'finished', ifnull(
    (SELECT max(e.at) FROM shelf_entry AS e, json_each(e.change) AS v
     WHERE v.value ->> 0 = 'plan' AND v.value ->> 1 = p.id AND v.value ->> 2 IS NOT NULL),
    p.made_at), 'weighed, or given up', 0
FROM planned_batch AS p WHERE p.done = 1;
UPDATE batch_event SET checksum = pm_checksum('batch_event', id, batch, kind, at, text);

-- ---- the shelf's history speaks of the new rows ------------------------------------------------

DROP TRIGGER shelf_entry_never_changed;

-- Undone plans were deleted, and their numbers used again: what planned them cannot be redone.
UPDATE shelf_entry SET change = NULL
WHERE EXISTS (SELECT 1 FROM json_each(change) AS v WHERE v.value ->> 0 = 'plan')
AND id NOT IN (
    WITH RECURSIVE way (id) AS (
        SELECT entry FROM shelf_head WHERE entry IS NOT NULL
        UNION SELECT e.parent FROM way JOIN shelf_entry AS e ON e.id = way.id
        WHERE e.parent IS NOT NULL)
    SELECT id FROM way);

-- Every image that looks different now.
CREATE TABLE image (
    kind TEXT NOT NULL,
    old TEXT NOT NULL,
    new TEXT NOT NULL,
    PRIMARY KEY (kind, old)
) STRICT;
INSERT INTO image (kind, old, new)
SELECT kind, old, CASE kind
    WHEN 'bottle' THEN json_set(old,
        '$[5]', (SELECT day FROM civil WHERE second = old ->> 5),
        '$[6]', (SELECT day FROM civil WHERE second = old ->> 6),
        '$[7]', (SELECT day FROM civil WHERE second = old ->> 7))
    WHEN 'plan' THEN json_array(old ->> 0, old ->> 1,
        (SELECT day FROM civil WHERE second = old ->> 2), old ->> 3, NULL, old ->> 5)
    ELSE (SELECT json_group_array(json_array(c.value ->> 0, c.value ->> 1,
              (SELECT id FROM substance WHERE folded = pm_fold(c.value ->> 2)), c.value ->> 4,
              c.value ->> 5, c.value ->> 6, c.value ->> 7, c.value ->> 8))
          FROM json_each(old) AS c) END
FROM (
    SELECT v.value ->> 0 AS kind, v.value ->> 2 AS old FROM shelf_entry AS e,
        json_each(e.change) AS v
    UNION SELECT v.value ->> 0, v.value ->> 3 FROM shelf_entry AS e, json_each(e.change) AS v)
WHERE old IS NOT NULL AND kind IN ('bottle', 'plan', 'constituents', 'shipped constituents');

UPDATE shelf_entry SET change = (
    SELECT json_group_array(json(element)) FROM (
        SELECT v.key AS place, 0 AS part, CASE
            WHEN v.value ->> 0 = 'plan' AND v.value ->> 2 IS NULL
            THEN json_array('batch', v.value ->> 1, NULL,
                            (SELECT new FROM image WHERE kind = 'plan' AND old = v.value ->> 3))
            WHEN v.value ->> 0 = 'plan'
            THEN json_array('event', (SELECT max(id) FROM batch) + (v.value ->> 1))
            WHEN v.value ->> 0 IN ('bottle', 'constituents', 'shipped constituents')
            THEN json_array(v.value ->> 0, v.value ->> 1,
                (SELECT new FROM image WHERE kind = v.value ->> 0 AND old = v.value ->> 2),
                (SELECT new FROM image WHERE kind = v.value ->> 0 AND old = v.value ->> 3))
            ELSE v.value END AS element
        FROM json_each(shelf_entry.change) AS v
        UNION ALL
        SELECT v.key, 1, json_array('event', v.value ->> 1)
        FROM json_each(shelf_entry.change) AS v
        WHERE v.value ->> 0 = 'plan' AND v.value ->> 2 IS NULL
        ORDER BY place, part))
WHERE EXISTS (SELECT 1 FROM json_each(change) AS v
              WHERE v.value ->> 0 IN ('bottle', 'plan', 'constituents', 'shipped constituents'));
UPDATE shelf_entry
SET checksum = pm_checksum('shelf_entry', id, parent, target, at, gesture, sentence, change);

CREATE TRIGGER shelf_entry_never_changed BEFORE UPDATE ON shelf_entry BEGIN
    SELECT raise(ABORT, 'an entry of the shelf''s history never changes');
END;

-- ---- days --------------------------------------------------------------------------------------

UPDATE bottle SET bought = (SELECT day FROM civil WHERE second = bought),
    opened = (SELECT day FROM civil WHERE second = opened),
    best_before = (SELECT day FROM civil WHERE second = best_before);
UPDATE bottle SET checksum = pm_checksum('bottle', id, material, strength, solvent, lot, supplier,
    bought, opened, best_before, place, tare, price, currency, priced_mass, note, made_from,
    set_aside, made_at);

DROP TRIGGER currency_rate_never_changed;
UPDATE currency_rate
SET day = ifnull((SELECT c.day FROM civil AS c WHERE c.second = currency_rate.day), 0);
UPDATE currency_rate
SET checksum = pm_checksum('currency_rate', id, currency, other, rate, day, at);
CREATE TRIGGER currency_rate_never_changed BEFORE UPDATE ON currency_rate BEGIN
    SELECT raise(ABORT, 'a rate is never changed, only followed by a newer one');
END;

-- ---- what was poured for which trial -----------------------------------------------------------

-- The words it was noted with stay; beside them stands what they meant when it was noted.
DROP INDEX movement_batch;
ALTER TABLE movement RENAME COLUMN batch TO purpose; -- what it was poured for, in words
ALTER TABLE movement ADD COLUMN trial INTEGER REFERENCES trial (id); -- poured for it; NULL: for none
ALTER TABLE movement ADD COLUMN batch INTEGER REFERENCES batch (id); -- poured for it; NULL: for none
CREATE INDEX movement_trial ON movement (trial, at) WHERE trial IS NOT NULL;
CREATE INDEX movement_batch ON movement (batch, id) WHERE batch IS NOT NULL;

DROP TRIGGER movement_never_changed;
UPDATE movement SET trial = t.id FROM formula AS f JOIN trial AS t ON t.formula = f.id
WHERE movement.kind = 'poured' AND t.kept_at IS NOT NULL
AND movement.purpose = f.name || '/' || t.number;
UPDATE movement SET checksum = pm_checksum('movement', id, bottle, kind, mass, found, other,
    purpose, note, corrects, at, trial, batch) WHERE trial IS NOT NULL;
CREATE TRIGGER movement_never_changed BEFORE UPDATE ON movement BEGIN
    SELECT raise(ABORT, 'a movement is never changed, only corrected by another');
END;

DROP TABLE planned_batch;
DROP TABLE image;
DROP TABLE named;
DROP TABLE civil;

-- ---- what never changes ------------------------------------------------------------------------

CREATE TRIGGER batch_never_deleted BEFORE DELETE ON batch BEGIN
    SELECT raise(ABORT, 'a batch is never deleted, only given up');
END;
CREATE TRIGGER batch_identity BEFORE UPDATE ON batch
WHEN NEW.id <> OLD.id OR NEW.trial <> OLD.trial OR NEW.made_at <> OLD.made_at BEGIN
    SELECT raise(ABORT, 'a batch stays one of its trial');
END;
CREATE TRIGGER batch_event_never_changed BEFORE UPDATE ON batch_event BEGIN
    SELECT raise(ABORT, 'what happened to a batch is never changed');
END;
CREATE TRIGGER batch_event_never_deleted BEFORE DELETE ON batch_event BEGIN
    SELECT raise(ABORT, 'what happened to a batch is never deleted');
END;
CREATE TRIGGER batch_event_taken BEFORE INSERT ON batch_event
WHEN EXISTS (SELECT 1 FROM batch_event WHERE id = NEW.id) BEGIN
    SELECT raise(ABORT, 'what happened to a batch is never replaced');
END;
CREATE TRIGGER substance_identity BEFORE UPDATE ON substance
WHEN NEW.id <> OLD.id OR NEW.folded <> OLD.folded BEGIN
    SELECT raise(ABORT, 'a substance stays the one it is');
END;

-- ---- what else must hold -----------------------------------------------------------------------

CREATE TRIGGER batch_of_kept BEFORE INSERT ON batch
WHEN (SELECT kept_at FROM trial WHERE id = NEW.trial) IS NULL BEGIN
    SELECT raise(ABORT, 'only kept trials are made in batches');
END;
CREATE TRIGGER movement_of_batch BEFORE INSERT ON movement
WHEN NEW.batch IS NOT NULL
    AND (SELECT trial FROM batch WHERE id = NEW.batch) IS NOT NEW.trial BEGIN
    SELECT raise(ABORT, 'what is poured for a batch is poured for its trial');
END;
