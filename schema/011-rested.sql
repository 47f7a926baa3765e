-- SPDX-License-Identifier: MIT
--
-- Step 11: a line that rests remembers what it was, and comes back so.

ALTER TABLE line ADD COLUMN rested_as TEXT CHECK (rested_as IS NULL
    OR (stance = 'resting' AND rested_as IN ('held', 'carrier'))); -- NULL: it was free
