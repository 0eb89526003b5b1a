-- +goose NO TRANSACTION
-- +goose Up

-- A box of which nobody said when it was last opened: set_up_on is a guess then,
-- made on guessed_on, and guess_answered once somebody was asked. Boxes from before
-- count as known. Every row that stands holds the checks; they are looked at in
-- statements of their own, so that reading and writing go on meanwhile.
SET lock_timeout = '10s';
ALTER TABLE box
    ADD COLUMN IF NOT EXISTS guessed_on date,
    ADD COLUMN IF NOT EXISTS guess_answered boolean NOT NULL DEFAULT false,
    DROP CONSTRAINT IF EXISTS answer_is_to_a_guess,
    ADD CONSTRAINT answer_is_to_a_guess CHECK (guessed_on IS NOT NULL OR NOT guess_answered) NOT VALID,
    DROP CONSTRAINT IF EXISTS guess_is_of_the_past,
    ADD CONSTRAINT guess_is_of_the_past CHECK (guessed_on >= set_up_on) NOT VALID;
ALTER TABLE due
    DROP CONSTRAINT IF EXISTS reason_is_known,
    ADD CONSTRAINT reason_is_known CHECK (reason IN ('', 'odds', 'longest-wait', 'required', 'guess', 'above')) NOT VALID;
ALTER TABLE visit_box
    DROP CONSTRAINT IF EXISTS visit_box_reason_check,
    ADD CONSTRAINT visit_box_reason_check CHECK (reason IN ('', 'odds', 'longest-wait', 'required', 'guess', 'above')) NOT VALID;
RESET lock_timeout;
ALTER TABLE box VALIDATE CONSTRAINT answer_is_to_a_guess;
ALTER TABLE box VALIDATE CONSTRAINT guess_is_of_the_past;
ALTER TABLE due VALIDATE CONSTRAINT reason_is_known;
ALTER TABLE visit_box VALIDATE CONSTRAINT visit_box_reason_check;
CREATE INDEX CONCURRENTLY IF NOT EXISTS box_guessed ON box (hive_id) WHERE guessed_on IS NOT NULL AND NOT guess_answered;

-- +goose Down
DROP INDEX IF EXISTS box_guessed;
UPDATE due SET reason = 'odds' WHERE reason = 'guess';
UPDATE visit_box SET reason = 'odds' WHERE reason = 'guess';
ALTER TABLE visit_box
    DROP CONSTRAINT IF EXISTS visit_box_reason_check,
    ADD CONSTRAINT visit_box_reason_check CHECK (reason IN ('', 'odds', 'longest-wait', 'required', 'above'));
ALTER TABLE due
    DROP CONSTRAINT IF EXISTS reason_is_known,
    ADD CONSTRAINT reason_is_known CHECK (reason IN ('', 'odds', 'longest-wait', 'required', 'above'));
ALTER TABLE box
    DROP CONSTRAINT IF EXISTS guess_is_of_the_past,
    DROP CONSTRAINT IF EXISTS answer_is_to_a_guess,
    DROP COLUMN IF EXISTS guess_answered,
    DROP COLUMN IF EXISTS guessed_on;
