-- +goose Up

-- Every few minutes it is asked which clubs may owe something new: one look at
-- all of them instead of a transaction in each.
CREATE FUNCTION club_versions() RETURNS TABLE (club_id bigint, feed_version bigint, shares_people_with bigint[])
    LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp
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

-- +goose Down
DROP FUNCTION club_versions();
