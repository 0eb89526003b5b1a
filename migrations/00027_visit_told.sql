-- +goose NO TRANSACTION
-- +goose Up

-- An opening of which nobody said how hard it was: of a box on a done visit,
-- written down the day after with one tap. The check is widened, and so holds
-- for every row that stands; it is looked at in a statement of its own, so that
-- reading and writing go on meanwhile.
SET lock_timeout = '10s';
ALTER TABLE opening
    DROP CONSTRAINT IF EXISTS opening_joint_check,
    DROP CONSTRAINT IF EXISTS joint_is_a_degree,
    ADD CONSTRAINT joint_is_a_degree CHECK (joint BETWEEN -1 AND 4 AND (joint >= 0 OR NOT left_shut)) NOT VALID;
RESET lock_timeout;
ALTER TABLE opening VALIDATE CONSTRAINT joint_is_a_degree;

-- Boxes of a done visit of which somebody said that they were not opened.
CREATE TABLE IF NOT EXISTS visit_not_opened (
    club_id  bigint NOT NULL,
    visit_id bigint NOT NULL,
    box_id   bigint NOT NULL,
    PRIMARY KEY (visit_id, box_id, club_id),
    FOREIGN KEY (club_id, visit_id) REFERENCES visit (club_id, id) ON DELETE CASCADE,
    FOREIGN KEY (club_id, box_id) REFERENCES box (club_id, id) ON DELETE CASCADE
);
CREATE INDEX IF NOT EXISTS visit_not_opened_box ON visit_not_opened (box_id);
ALTER TABLE visit_not_opened ENABLE ROW LEVEL SECURITY;
DROP POLICY IF EXISTS one_club ON visit_not_opened;
CREATE POLICY one_club ON visit_not_opened USING (club_id = current_club());

-- What a member recorded last.
CREATE INDEX CONCURRENTLY IF NOT EXISTS opening_by ON opening (by_member, seq) WHERE by_member IS NOT NULL;
DROP INDEX CONCURRENTLY IF EXISTS opening_member;

-- +goose StatementBegin
CREATE OR REPLACE FUNCTION clubs_organised() RETURNS TABLE(person_id bigint, clubs integer)
    LANGUAGE sql STABLE SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$ SELECT mine.person_id, count(*)::integer
            FROM public.member mine
            JOIN public.member m ON m.person_id = mine.person_id AND m.role = 'organiser'
           WHERE mine.club_id = public.current_club() AND mine.role = 'organiser'
           GROUP BY 1 HAVING count(*) > 1 $$;
-- +goose StatementEnd
REVOKE EXECUTE ON FUNCTION clubs_organised() FROM PUBLIC;
GRANT EXECUTE ON FUNCTION clubs_organised() TO pryday_app;
COMMENT ON FUNCTION clubs_organised() IS 'the organisers of a club who lead others too, and how many in all: what one person is told a month has one limit';

-- +goose Down
DROP FUNCTION IF EXISTS clubs_organised();
CREATE INDEX IF NOT EXISTS opening_member ON opening (by_member) WHERE by_member IS NOT NULL;
DROP INDEX IF EXISTS opening_by;
DROP TABLE IF EXISTS visit_not_opened;
DELETE FROM opening WHERE joint < 0;
ALTER TABLE opening
    DROP CONSTRAINT IF EXISTS joint_is_a_degree,
    DROP CONSTRAINT IF EXISTS opening_joint_check,
    ADD CONSTRAINT opening_joint_check CHECK (joint BETWEEN 0 AND 4);
