-- SPDX-License-Identifier: MIT
--
-- Step 15: what lines cost by the hundred thousand. Which formulas have held which material is noted
-- by whoever writes a draft (src/store/trials.c), not by four triggers for each line: undo brings back
-- only what a revision wrote, so a line put in by hand needs no such note. `permille verify` compares
-- both. What a new line is asked is asked by one trigger, and after it was written: one that comes
-- before costs a copy of the row, and a refused statement leaves nothing either way. Families are few,
-- and lists of them read every material's row: an index of them is more work than it saves. No row
-- changes.

DROP INDEX material_family;

DROP TRIGGER line_use_insert;
DROP TRIGGER line_use_update;
DROP TRIGGER line_use_solvent_insert;
DROP TRIGGER line_use_solvent_update;

DROP TRIGGER line_sealed_insert;
DROP TRIGGER line_accord_kept_insert;
CREATE TRIGGER line_insert AFTER INSERT ON line
WHEN (SELECT kept_at FROM trial WHERE id = NEW.trial) IS NOT NULL
  OR (NEW.accord IS NOT NULL AND (SELECT kept_at FROM trial WHERE id = NEW.accord) IS NULL) BEGIN
    SELECT CASE WHEN (SELECT kept_at FROM trial WHERE id = NEW.trial) IS NOT NULL
                THEN raise(ABORT, 'a line of a kept trial never changes')
                ELSE raise(ABORT, 'an accord line names a kept trial') END;
END;
