-- +goose NO TRANSACTION
-- +goose Up

-- Who opened a box, where that was not who wrote it down: a member, or somebody
-- without an account, by name. With neither, nobody knows any more who it was.
-- Rows from before were opened by whoever wrote them down. Every row that
-- stands holds the checks; they are looked at in statements of their own, so that
-- reading and writing go on meanwhile.
SET lock_timeout = '10s';
ALTER TABLE opening
    ADD COLUMN IF NOT EXISTS somebody_else boolean NOT NULL DEFAULT false,
    ADD COLUMN IF NOT EXISTS opened_by_member bigint,
    ADD COLUMN IF NOT EXISTS opened_by_name text NOT NULL DEFAULT '',
    DROP CONSTRAINT IF EXISTS opened_by_one,
    ADD CONSTRAINT opened_by_one CHECK (somebody_else AND (opened_by_member IS NULL OR opened_by_name = '') OR opened_by_member IS NULL AND opened_by_name = '') NOT VALID,
    DROP CONSTRAINT IF EXISTS opened_by_a_member,
    ADD CONSTRAINT opened_by_a_member FOREIGN KEY (club_id, opened_by_member) REFERENCES member (club_id, id) ON DELETE SET NULL (opened_by_member) NOT VALID;
RESET lock_timeout;
ALTER TABLE opening VALIDATE CONSTRAINT opened_by_one;
ALTER TABLE opening VALIDATE CONSTRAINT opened_by_a_member;
COMMENT ON COLUMN opening.by_member IS 'who wrote it down, and opened the box unless somebody_else says otherwise';
CREATE INDEX CONCURRENTLY IF NOT EXISTS opening_opened_by ON opening (opened_by_member) WHERE opened_by_member IS NOT NULL;

-- Steps of a visit's checklist that were ticked: of the whole apiary, of a hive
-- or of a box.
CREATE TABLE IF NOT EXISTS visit_tick (
    club_id   bigint NOT NULL,
    visit_id  bigint NOT NULL,
    step      text NOT NULL CHECK (step ~ '^[a-z][a-z-]{0,39}$'),
    hive_id   bigint,
    box_id    bigint,
    by_member bigint,
    on_day    date NOT NULL,
    CONSTRAINT of_one_place CHECK (hive_id IS NULL OR box_id IS NULL),
    UNIQUE NULLS NOT DISTINCT (visit_id, step, hive_id, box_id, club_id),
    FOREIGN KEY (club_id, visit_id) REFERENCES visit (club_id, id) ON DELETE CASCADE,
    FOREIGN KEY (club_id, hive_id) REFERENCES hive (club_id, id) ON DELETE CASCADE,
    FOREIGN KEY (club_id, box_id) REFERENCES box (club_id, id) ON DELETE CASCADE,
    FOREIGN KEY (club_id, by_member) REFERENCES member (club_id, id) ON DELETE SET NULL (by_member)
);
CREATE INDEX IF NOT EXISTS visit_tick_hive ON visit_tick (hive_id) WHERE hive_id IS NOT NULL;
CREATE INDEX IF NOT EXISTS visit_tick_box ON visit_tick (box_id) WHERE box_id IS NOT NULL;
CREATE INDEX IF NOT EXISTS visit_tick_member ON visit_tick (by_member) WHERE by_member IS NOT NULL;
ALTER TABLE visit_tick ENABLE ROW LEVEL SECURITY;
DROP POLICY IF EXISTS one_club ON visit_tick;
CREATE POLICY one_club ON visit_tick USING (club_id = current_club());

-- +goose Down
DROP TABLE IF EXISTS visit_tick;
DROP INDEX IF EXISTS opening_opened_by;
COMMENT ON COLUMN opening.by_member IS NULL;
ALTER TABLE opening
    DROP CONSTRAINT IF EXISTS opened_by_a_member,
    DROP CONSTRAINT IF EXISTS opened_by_one,
    DROP COLUMN IF EXISTS opened_by_name,
    DROP COLUMN IF EXISTS opened_by_member,
    DROP COLUMN IF EXISTS somebody_else;
