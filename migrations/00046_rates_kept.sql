-- +goose Up

-- What planning needs beside what due has of a box to go on from there, and what the
-- rates of an apiary came from: where that is still the same on the next day, its
-- openings are not read again. A program of before leaves rates_from as it is and
-- writes due; the sum covers what stands there, so that it fits no more.
ALTER TABLE due
    ADD COLUMN last_tried date,
    ADD COLUMN listed_on date;
ALTER TABLE apiary ADD COLUMN rates_from bigint;
COMMENT ON COLUMN due.last_tried IS 'the last opening, also one that left it shut';
COMMENT ON COLUMN due.listed_on IS 'the last done visit that listed it, if it has no record of that';
COMMENT ON COLUMN apiary.rates_from IS 'sum of what the rates in due were worked out from; empty where they are to be worked out from the openings';

-- +goose Down
ALTER TABLE apiary DROP COLUMN rates_from;
ALTER TABLE due DROP COLUMN listed_on, DROP COLUMN last_tried;
