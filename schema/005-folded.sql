-- SPDX-License-Identifier: MIT
--
-- Step 5: names are folded by Unicode's own tables, which know more letters than ours did. What was
-- stored is folded again. Should two names have become the same, the later one keeps its old form: it
-- still stands alone in its column, and is found again once it is renamed.

UPDATE OR IGNORE material_name SET folded = pm_fold(name),
    checksum = pm_checksum('material_name', material, place, name, pm_fold(name))
WHERE folded <> pm_fold(name);

-- A block as src/store/search.c writes it: head bytes, fields behind tabs, a line end.
DELETE FROM material_search;
INSERT INTO material_search (block, entries)
SELECT id / 32, CAST(group_concat(entry, '') AS BLOB) FROM (
    SELECT m.id AS id,
        CAST(substr(x'F8F9FAFBFCFDFEFF', 1 + m.id % 32 / 8, 1) AS TEXT)
        || CAST(substr(x'F8F9FAFBFCFDFEFF', 1 + m.id % 8, 1) AS TEXT)
        || CAST(substr(x'F8F9', 1 + m.set_aside, 1) AS TEXT)
        || char(9) || (
            SELECT group_concat(folded, char(9)) FROM (
                SELECT n.folded AS folded FROM material_name AS n WHERE n.material = m.id
                ORDER BY n.place))
        || char(9) || ifnull(m.cas, '') || char(10) AS entry
    FROM material AS m WHERE m.merged_into IS NULL ORDER BY m.id)
GROUP BY id / 32;

UPDATE OR IGNORE formula SET folded = pm_fold(name),
    checksum = pm_checksum('formula', id, name, pm_fold(name), accord, set_aside, made_at,
                           changed_at, kept, revisions, chain)
WHERE folded <> pm_fold(name);

DROP TRIGGER panel_facts;
UPDATE OR IGNORE panel SET folded = pm_fold(name),
    checksum = pm_checksum('panel', id, name, pm_fold(name), kind, question, expected, alpha,
                           rounds, seed, made_at, closed_at)
WHERE folded <> pm_fold(name);
CREATE TRIGGER panel_facts BEFORE UPDATE ON panel
WHEN OLD.closed_at IS NOT NULL OR NEW.id <> OLD.id OR NEW.name <> OLD.name
    OR NEW.folded <> OLD.folded OR NEW.kind <> OLD.kind OR NEW.question IS NOT OLD.question
    OR NEW.expected IS NOT OLD.expected OR NEW.alpha <> OLD.alpha OR NEW.rounds <> OLD.rounds
    OR NEW.seed <> OLD.seed OR NEW.made_at <> OLD.made_at BEGIN
    SELECT raise(ABORT, 'a blind test stays as it was made; it can only be closed, once');
END;
