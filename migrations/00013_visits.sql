-- +goose Up

-- Boxes that a person took off a visit: a set, in a table so that it cannot
-- name a box that is not there. Visits are locked from the start, since a lock
-- that grows may meet another that does: for one look through the table, a
-- twentieth of a second for a hundred thousand visits.
SET LOCAL lock_timeout = '10s';
LOCK TABLE visit IN ACCESS EXCLUSIVE MODE;
CREATE TABLE visit_not_box (
    club_id  bigint NOT NULL,
    visit_id bigint NOT NULL,
    box_id   bigint NOT NULL,
    PRIMARY KEY (visit_id, box_id, club_id),
    FOREIGN KEY (club_id, visit_id) REFERENCES visit (club_id, id) ON DELETE CASCADE,
    FOREIGN KEY (club_id, box_id) REFERENCES box (club_id, id) ON DELETE CASCADE
);
CREATE INDEX visit_not_box_box ON visit_not_box (box_id);
ALTER TABLE visit_not_box ENABLE ROW LEVEL SECURITY;
CREATE POLICY one_club ON visit_not_box USING (club_id = current_club());

INSERT INTO visit_not_box (club_id, visit_id, box_id)
    SELECT DISTINCT v.club_id, v.id, b.id
      FROM visit v
     CROSS JOIN LATERAL unnest(v.not_boxes) AS n(box_id)
      JOIN box b ON b.club_id = v.club_id AND b.id = n.box_id
     WHERE v.not_boxes <> '{}';
ALTER TABLE visit DROP COLUMN not_boxes;
ALTER TABLE visit RENAME COLUMN day0 TO first_seen;

-- +goose Down
ALTER TABLE visit RENAME COLUMN first_seen TO day0;
ALTER TABLE visit ADD COLUMN not_boxes bigint[] NOT NULL DEFAULT '{}';
UPDATE visit v SET not_boxes = n.boxes
  FROM (SELECT club_id, visit_id, array_agg(box_id ORDER BY box_id) AS boxes FROM visit_not_box GROUP BY 1, 2) n
 WHERE v.club_id = n.club_id AND v.id = n.visit_id;
DROP TABLE visit_not_box;
