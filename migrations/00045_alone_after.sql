-- +goose Up

-- Why a hive is left alone after a step of its colony, as the step: its words are
-- the catalogue's, in the reader's language. What a person wrote stands beside it.
ALTER TABLE leave_alone
    ADD COLUMN after_what text NOT NULL DEFAULT ''
        CHECK (after_what IN ('', 'swarmed', 'requeened', 'split', 'united', 'moved', 'sold', 'died', 'new-colony'));
ALTER TABLE colony_event
    ADD COLUMN alone_after text NOT NULL DEFAULT ''
        CHECK (alone_after IN ('', 'swarmed', 'requeened', 'split', 'united', 'moved', 'sold', 'died', 'new-colony'));
ALTER TABLE due
    ADD COLUMN left_alone_after text NOT NULL DEFAULT ''
        CHECK (left_alone_after IN ('', 'swarmed', 'requeened', 'split', 'united', 'moved', 'sold', 'died', 'new-colony'));
COMMENT ON COLUMN leave_alone.after_what IS 'the step of the colony that the hive is left alone after; reason has the keeper''s own words';

-- +goose Down
ALTER TABLE due DROP COLUMN left_alone_after;
ALTER TABLE colony_event DROP COLUMN alone_after;
ALTER TABLE leave_alone DROP COLUMN after_what;
