-- +goose Up

-- How long a club need not be looked at: nothing new is owed before quiet_until
-- unless what people see of it has another version. Every daemon goes by what any
-- of them found, and one that starts need not read every club to know.
ALTER TABLE decided
    ADD COLUMN quiet_version bigint,
    ADD COLUMN quiet_until   timestamptz;
COMMENT ON COLUMN decided.quiet_until IS 'nothing new is owed before, as long as the club''s feed version is quiet_version; by the clock that says which day it is';

DROP FUNCTION club_versions();
CREATE FUNCTION club_versions() RETURNS TABLE (club_id bigint, feed_version bigint, shares_people_with bigint[], quiet_until timestamptz)
    LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp SET enable_seqscan = on
    AS $$
        WITH several AS (
            SELECT m.person_id, min(m.club_id) AS club_id FROM public.member m GROUP BY m.person_id HAVING count(*) > 1),
        shares AS (
            SELECT m.club_id, array_agg(DISTINCT s.club_id ORDER BY s.club_id) AS with_clubs
              FROM public.member m JOIN several s USING (person_id) WHERE s.club_id <> m.club_id GROUP BY m.club_id)
        SELECT c.id, c.feed_version, coalesce(s.with_clubs, '{}'), d.quiet_until
          FROM public.club c
          LEFT JOIN shares s ON s.club_id = c.id
          LEFT JOIN public.decided d ON d.club_id = c.id AND d.quiet_version = c.feed_version
         ORDER BY c.id $$;
COMMENT ON FUNCTION club_versions() IS
    'the clubs and how often what people see of each has changed; the first of those that each of its people belongs to; and until when nothing new is owed';
REVOKE EXECUTE ON FUNCTION club_versions() FROM PUBLIC;
GRANT EXECUTE ON FUNCTION club_versions() TO pryday_app;

-- Programs that know the history up to this number and not to its end may serve:
-- what came after only added. A migration that does more gives this function its
-- own number.
CREATE FUNCTION served_since() RETURNS bigint LANGUAGE sql IMMUTABLE AS 'SELECT 42::bigint';
COMMENT ON FUNCTION served_since() IS 'the oldest number of the history whose program may serve this schema';

-- +goose Down
DROP FUNCTION served_since();
DROP FUNCTION club_versions();
CREATE FUNCTION club_versions() RETURNS TABLE (club_id bigint, feed_version bigint, shares_people_with bigint[])
    LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp SET enable_seqscan = on
    AS $$
        WITH several AS (
            SELECT m.person_id, min(m.club_id) AS club_id FROM public.member m GROUP BY m.person_id HAVING count(*) > 1)
        SELECT c.id, c.feed_version, ARRAY(
                   SELECT DISTINCT s.club_id FROM public.member m JOIN several s USING (person_id)
                    WHERE m.club_id = c.id AND s.club_id <> c.id ORDER BY 1)
          FROM public.club c ORDER BY c.id $$;
COMMENT ON FUNCTION club_versions() IS
    'the clubs and how often what people see of each has changed; and the first of those that each of its people belongs to';
REVOKE EXECUTE ON FUNCTION club_versions() FROM PUBLIC;
GRANT EXECUTE ON FUNCTION club_versions() TO pryday_app;
ALTER TABLE decided DROP COLUMN quiet_version, DROP COLUMN quiet_until;
