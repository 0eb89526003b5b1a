-- +goose Up

-- What was said of an opening before it was made, written in the transaction
-- that writes the opening down and never changed: the serving role may not. A
-- correction of the same day has it again.
CREATE TABLE forecast (
    club_id         bigint NOT NULL,
    opening_id      uuid NOT NULL,
    made_on         date NOT NULL,
    hard            double precision NOT NULL CHECK (hard BETWEEN 0 AND 1),
    stuck           double precision NOT NULL CHECK (stuck BETWEEN 0 AND 1 AND stuck <= hard),
    model_hard      double precision NOT NULL CHECK (model_hard BETWEEN 0 AND 1),
    model_stuck     double precision NOT NULL CHECK (model_stuck BETWEEN 0 AND 1 AND model_stuck <= model_hard),
    openings        integer NOT NULL CHECK (openings >= 0),
    rules_version   integer CHECK (rules_version > 0),
    recalibrated_on date,
    PRIMARY KEY (opening_id, club_id),
    FOREIGN KEY (club_id, opening_id) REFERENCES opening (club_id, id) ON DELETE CASCADE
);
COMMENT ON COLUMN forecast.hard IS 'odds of a hard opening as they were said';
COMMENT ON COLUMN forecast.model_hard IS 'the same before the club''s recalibration';
COMMENT ON COLUMN forecast.openings IS 'of the box that were on record';
COMMENT ON COLUMN forecast.recalibrated_on IS 'the day on which the recalibration that held was made';
CREATE INDEX forecast_day ON forecast (club_id, made_on);
ALTER TABLE forecast ENABLE ROW LEVEL SECURITY;
CREATE POLICY one_club ON forecast USING (club_id = current_club());
REVOKE UPDATE ON forecast FROM pryday_app;

-- How the odds are corrected by what the club found; the newest row holds.
CREATE TABLE recalibration (
    club_id         bigint NOT NULL REFERENCES club ON DELETE CASCADE,
    made_on         date NOT NULL,
    openings        integer NOT NULL CHECK (openings >= 0),
    hard_intercept  double precision NOT NULL CHECK (hard_intercept BETWEEN -20 AND 20),
    hard_slope      double precision NOT NULL CHECK (hard_slope BETWEEN 0.25 AND 4),
    stuck_intercept double precision NOT NULL CHECK (stuck_intercept BETWEEN -20 AND 20),
    stuck_slope     double precision NOT NULL CHECK (stuck_slope BETWEEN 0.25 AND 4),
    PRIMARY KEY (club_id, made_on)
);
COMMENT ON COLUMN recalibration.openings IS 'that it was made of; 0 where the record is too short and nothing is corrected';
ALTER TABLE recalibration ENABLE ROW LEVEL SECURITY;
CREATE POLICY one_club ON recalibration USING (club_id = current_club());
REVOKE UPDATE ON recalibration FROM pryday_app;

ALTER TABLE due
    ADD COLUMN openings integer NOT NULL DEFAULT 0 CHECK (openings >= 0),
    ADD COLUMN due_first date,
    ADD COLUMN due_last date;
COMMENT ON COLUMN due.due_first IS 'within these days it would be due, 8 times in 10, if it were known how fast the box seals';
ALTER TABLE box_state ADD COLUMN stuck double precision NOT NULL DEFAULT 0 CHECK (stuck BETWEEN 0 AND 1);
ALTER TABLE visit_box ADD COLUMN stuck double precision NOT NULL DEFAULT 0 CHECK (stuck BETWEEN 0 AND 1);

-- +goose Down
ALTER TABLE visit_box DROP COLUMN stuck;
ALTER TABLE box_state DROP COLUMN stuck;
ALTER TABLE due DROP COLUMN due_last, DROP COLUMN due_first, DROP COLUMN openings;
DROP TABLE recalibration, forecast;
