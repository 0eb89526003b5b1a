-- +goose Up

-- What is overdue at an apiary, counted when it is planned: the first page of a
-- club of ten thousand boxes would take most of its time to count it anew.
ALTER TABLE apiary ADD COLUMN overdue integer NOT NULL DEFAULT 0 CHECK (overdue >= 0),
    ADD COLUMN overdue_since date,
    ADD CONSTRAINT overdue_since_a_day CHECK ((overdue = 0) = (overdue_since IS NULL));
COMMENT ON COLUMN apiary.overdue IS 'boxes past their due day, as it was planned last, that nothing keeps shut';
COMMENT ON COLUMN apiary.overdue_since IS 'the earliest of those days';
UPDATE apiary a SET overdue = late.boxes, overdue_since = late.since
  FROM (SELECT d.club_id, d.apiary_id, count(*) AS boxes, min(d.due) AS since
          FROM due d JOIN box_state s USING (club_id, box_id) WHERE s.overdue AND d.left_alone = '' GROUP BY 1, 2) late
 WHERE a.club_id = late.club_id AND a.id = late.apiary_id;

-- +goose Down
ALTER TABLE apiary DROP COLUMN overdue_since, DROP COLUMN overdue;
