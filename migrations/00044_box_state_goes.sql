-- +goose NO TRANSACTION
-- +goose Up

-- What box_state says of a day goes over to due, where it holds from that day on, a
-- club at a time: each is locked for as long as its own rows take, and running it
-- again goes on where it was cut off. Only of boxes that may have been opened without
-- a record it says too little; planning says the rest, the next time.
SET lock_timeout = '10s';

-- +goose StatementBegin
DO $$
DECLARE
    one bigint;
BEGIN
    IF to_regclass('public.box_state') IS NULL THEN
        RETURN;
    END IF;
    FOR one IN SELECT id FROM club ORDER BY id LOOP
        UPDATE due d SET seal_since = s.on_day, seal_left = s.sealing_days, rate_mean = s.rate_mean,
               rate_variance = s.rate_variance, rated_on = s.on_day
          FROM box_state s
         WHERE d.apiary_id = ANY(ARRAY(SELECT id FROM apiary WHERE club_id = one))
           AND s.club_id = d.club_id AND s.box_id = d.box_id AND d.rated_on < s.on_day;
        UPDATE apiary a SET worst_odds = w.odds
          FROM (SELECT d.apiary_id, max(s.odds) AS odds FROM due d JOIN box_state s USING (club_id, box_id)
                 WHERE d.apiary_id = ANY(ARRAY(SELECT id FROM apiary WHERE club_id = one)) GROUP BY 1) w
         WHERE a.club_id = one AND a.id = w.apiary_id;
        COMMIT;
    END LOOP;
END $$;
-- +goose StatementEnd

ALTER TABLE due VALIDATE CONSTRAINT numbers_are_finite;
DROP TABLE IF EXISTS box_state;
CREATE OR REPLACE FUNCTION served_since() RETURNS bigint LANGUAGE sql IMMUTABLE AS 'SELECT 44::bigint';

-- +goose Down
-- The program of before works the odds out when it plans next.
CREATE TABLE IF NOT EXISTS box_state (
    club_id       bigint NOT NULL,
    box_id        bigint NOT NULL,
    on_day        date NOT NULL,
    sealing_days  double precision NOT NULL,
    rate_mean     double precision NOT NULL,
    rate_variance double precision NOT NULL,
    odds          double precision NOT NULL,
    overdue       boolean NOT NULL,
    stuck         double precision NOT NULL DEFAULT 0 CHECK (stuck BETWEEN 0 AND 1),
    PRIMARY KEY (box_id, club_id),
    FOREIGN KEY (club_id, box_id) REFERENCES box (club_id, id) ON DELETE CASCADE,
    CONSTRAINT odds_are_a_chance CHECK (odds BETWEEN 0 AND 1),
    CONSTRAINT numbers_are_finite CHECK (
        sealing_days BETWEEN 0 AND 1e6 AND rate_mean BETWEEN -1e3 AND 1e3 AND rate_variance BETWEEN 0 AND 1e3)
) WITH (fillfactor = 50);
ALTER TABLE box_state ENABLE ROW LEVEL SECURITY;
DROP POLICY IF EXISTS one_club ON box_state;
CREATE POLICY one_club ON box_state USING (club_id = current_club());
GRANT SELECT, INSERT, UPDATE, DELETE ON box_state TO pryday_app;
INSERT INTO box_state (club_id, box_id, on_day, sealing_days, rate_mean, rate_variance, odds, overdue)
SELECT d.club_id, d.box_id, d.rated_on, d.seal_left, d.rate_mean, d.rate_variance, 0, coalesce(d.due < a.planned_on AND d.reason <> 'guess', false)
  FROM due d JOIN apiary a ON a.club_id = d.club_id AND a.id = d.apiary_id
    ON CONFLICT DO NOTHING;
CREATE OR REPLACE FUNCTION served_since() RETURNS bigint LANGUAGE sql IMMUTABLE AS 'SELECT 43::bigint';
