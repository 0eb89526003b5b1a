-- +goose Up

-- What the age and the odds of a box are worked out from, instead of what they were
-- on one day: a night after which nothing is known that was not known before then
-- writes no row of a box. box_state goes in the next step. These are matters of
-- moments: constant defaults rewrite nothing. Locked in the order of planning.
ALTER TABLE apiary ADD COLUMN worst_odds double precision,
    ADD CONSTRAINT odds_are_a_chance CHECK (worst_odds BETWEEN 0 AND 1);
COMMENT ON COLUMN apiary.worst_odds IS 'of its box that is likeliest to be hard, on planned_on; empty where it has no box';

ALTER TABLE due
    ADD COLUMN seal_since    date,
    ADD COLUMN seal_left     double precision NOT NULL DEFAULT 0,
    ADD COLUMN seal_ages     double precision[],
    ADD COLUMN rate_mean     double precision NOT NULL DEFAULT 0,
    ADD COLUMN rate_variance double precision NOT NULL DEFAULT 0,
    ADD COLUMN rated_on      date NOT NULL DEFAULT '2000-01-01',
    ADD CONSTRAINT numbers_are_finite CHECK (
        seal_left BETWEEN 0 AND 1e6 AND rate_mean BETWEEN -1e3 AND 1e3 AND rate_variance BETWEEN 0 AND 1e3) NOT VALID;
COMMENT ON COLUMN due.seal_since IS 'the day at which seal_left sealing days were in the seal; empty where nothing seals it';
COMMENT ON COLUMN due.seal_ages IS 'sealing days and how likely they are, by turns, of a seal that may have been broken without a record';
COMMENT ON COLUMN due.rated_on IS 'the day from which rate_variance grows';

-- A program of before would go on reading box_state.
CREATE OR REPLACE FUNCTION served_since() RETURNS bigint LANGUAGE sql IMMUTABLE AS 'SELECT 43::bigint';

-- +goose Down
CREATE OR REPLACE FUNCTION served_since() RETURNS bigint LANGUAGE sql IMMUTABLE AS 'SELECT 42::bigint';
ALTER TABLE apiary DROP COLUMN worst_odds;
ALTER TABLE due
    DROP COLUMN seal_since, DROP COLUMN seal_left, DROP COLUMN seal_ages,
    DROP COLUMN rate_mean, DROP COLUMN rate_variance, DROP COLUMN rated_on;
