-- +goose Up

-- Stage dates by region. What was shifted so far was shifted from the one table
-- that there was: those apiaries keep it.
ALTER TABLE apiary
    ADD COLUMN region text NOT NULL DEFAULT ''
        CHECK (region IN ('', 'continental', 'western-europe', 'southern-europe', 'southern-maritime')),
    ADD COLUMN first_pollen date[] NOT NULL DEFAULT '{}' CHECK (array_position(first_pollen, NULL) IS NULL),
    ADD COLUMN supers_on date[] NOT NULL DEFAULT '{}' CHECK (array_position(supers_on, NULL) IS NULL),
    ADD COLUMN supers_off date[] NOT NULL DEFAULT '{}' CHECK (array_position(supers_off, NULL) IS NULL);
COMMENT ON COLUMN apiary.region IS 'whose stage dates hold here; empty: those of the region that the coordinates lie in';
COMMENT ON COLUMN apiary.first_pollen IS 'days on which the first good pollen came in, as keepers saw it; so are supers_on and supers_off';
UPDATE apiary SET region = 'continental' WHERE season_shift_days <> 0;

-- +goose Down
ALTER TABLE apiary DROP COLUMN supers_off, DROP COLUMN supers_on, DROP COLUMN first_pollen, DROP COLUMN region;
