-- SPDX-License-Identifier: MIT
--
-- Step 4: what was poured for a trial is found without reading the whole ledger.

CREATE INDEX movement_batch ON movement (batch, at) WHERE batch IS NOT NULL;
