-- +goose Up

-- What a member can give; null and no weekdays take the club's rules.
ALTER TABLE member
    ADD COLUMN hours_a_day double precision CHECK (hours_a_day BETWEEN 0.5 AND 24),
    ADD COLUMN visits_a_week smallint CHECK (visits_a_week BETWEEN 1 AND 50),
    ADD COLUMN weekdays smallint NOT NULL DEFAULT 0 CHECK (weekdays BETWEEN 0 AND 127);
COMMENT ON COLUMN member.weekdays IS 'days on which the member can go: bit 0 Sunday; 0 what the rules say';

ALTER TABLE apiary ADD COLUMN trip text NOT NULL DEFAULT '' CHECK (length(trip) <= 200);
COMMENT ON COLUMN apiary.trip IS 'apiaries of one name are one journey; empty: those that are near one another are';

ALTER TABLE visit ADD COLUMN no_time boolean NOT NULL DEFAULT false;
COMMENT ON COLUMN visit.no_time IS 'nobody is asked to go, since those who could have promised all that they can give';

-- +goose Down
ALTER TABLE visit DROP COLUMN no_time;
ALTER TABLE apiary DROP COLUMN trip;
ALTER TABLE member DROP COLUMN weekdays, DROP COLUMN visits_a_week, DROP COLUMN hours_a_day;
