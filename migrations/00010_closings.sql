-- +goose Up

-- Why a due day was moved and why a box is left alone, as keys, and what a
-- person noted about it beside; until now they were sentences in English.
ALTER TABLE due ADD left_alone_words text NOT NULL DEFAULT '';

UPDATE due SET
    moved = CASE moved
        WHEN 'out of winter' THEN 'winter'
        WHEN 'out of a closed season' THEN 'stage'
        WHEN 'out of the days before winter' THEN 'reseal'
        WHEN 'out of a standstill' THEN 'standstill'
        WHEN 'out of the landowner''s days' THEN 'owner'
        WHEN 'out of leave-alone days' THEN 'hive'
        WHEN 'out of days when every keeper is away' THEN 'keepers'
        ELSE '' END,
    left_alone = CASE
        WHEN left_alone = 'the hive is retired' THEN 'hive-retired'
        WHEN left_alone = 'the box is retired' THEN 'box-retired'
        WHEN left_alone = 'standstill' OR left_alone LIKE 'standstill: %' THEN 'standstill'
        WHEN left_alone = 'leave alone' OR left_alone LIKE 'leave alone: %' THEN 'hive'
        WHEN left_alone = 'there is no day in the next year on which it may be opened' THEN 'none-openable'
        ELSE '' END,
    left_alone_words = CASE
        WHEN left_alone LIKE 'standstill: %' OR left_alone LIKE 'leave alone: %'
        THEN substr(left_alone, strpos(left_alone, ': ') + 2) ELSE '' END
 WHERE moved <> '' OR left_alone <> '';

ALTER TABLE due
    ADD CONSTRAINT due_moved_key CHECK (moved ~ '^[a-z-]*$'),
    ADD CONSTRAINT due_left_alone_key CHECK (left_alone ~ '^[a-z-]*$'),
    ADD CONSTRAINT due_left_alone_words CHECK (left_alone_words = '' OR left_alone <> '');

-- +goose Down

ALTER TABLE due
    DROP CONSTRAINT due_moved_key,
    DROP CONSTRAINT due_left_alone_key,
    DROP CONSTRAINT due_left_alone_words;

UPDATE due SET
    moved = CASE moved
        WHEN 'winter' THEN 'out of winter'
        WHEN 'stage' THEN 'out of a closed season'
        WHEN 'reseal' THEN 'out of the days before winter'
        WHEN 'standstill' THEN 'out of a standstill'
        WHEN 'owner' THEN 'out of the landowner''s days'
        WHEN 'hive' THEN 'out of leave-alone days'
        WHEN 'keepers' THEN 'out of days when every keeper is away'
        ELSE '' END,
    left_alone = CASE left_alone
        WHEN 'hive-retired' THEN 'the hive is retired'
        WHEN 'box-retired' THEN 'the box is retired'
        WHEN 'standstill' THEN 'standstill'
        WHEN 'hive' THEN 'leave alone'
        WHEN 'none-openable' THEN 'there is no day in the next year on which it may be opened'
        ELSE '' END || CASE WHEN left_alone_words = '' THEN '' ELSE ': ' || left_alone_words END
 WHERE moved <> '' OR left_alone <> '';

ALTER TABLE due DROP left_alone_words;
