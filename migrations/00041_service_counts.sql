-- +goose Up

-- What a collector of metrics may know of all clubs together: numbers alone, by
-- a few words that the program knows. It reads whole tables, which the serving
-- role's settings are against; the service asks no more than a few times a minute.
CREATE FUNCTION service_counts(moment timestamptz) RETURNS TABLE(what text, part text, value double precision)
    LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp SET enable_seqscan = on
    AS $$
        SELECT 'messages', state, count(*)::float8 FROM public.message GROUP BY state
        UNION ALL
        SELECT 'messages recorded', '', count(*)::float8 FROM public.message
        UNION ALL
        SELECT CASE WHEN attempts = 0 THEN 'untried' ELSE 'tried' END,
               CASE WHEN moment - owed_at < interval '1 hour' THEN 'hour' WHEN moment - owed_at < interval '1 day' THEN 'day' ELSE 'older' END,
               count(*)::float8
          FROM public.message WHERE state = 'owed' GROUP BY 1, 2
        UNION ALL
        SELECT 'oldest owed', '', greatest(extract(epoch FROM moment - min(owed_at)), 0)::float8
          FROM public.message WHERE state = 'owed' HAVING count(*) > 0
        UNION ALL
        SELECT 'mail to read', '', count(*)::float8 FROM public.inbound_mail WHERE handled_at IS NULL
        UNION ALL
        SELECT 'jobs', state::text, count(*)::float8 FROM public.river_job GROUP BY state
        UNION ALL
        SELECT 'oldest job', '', greatest(extract(epoch FROM moment - min(scheduled_at)), 0)::float8
          FROM public.river_job WHERE state IN ('available', 'retryable', 'scheduled') AND scheduled_at <= moment HAVING count(*) > 0
        UNION ALL
        SELECT 'database bytes', '', pg_database_size(current_database())::float8 $$;
REVOKE EXECUTE ON FUNCTION service_counts(timestamptz) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION service_counts(timestamptz) TO pryday_app;
COMMENT ON FUNCTION service_counts(timestamptz) IS 'how much there is of what, over all clubs: numbers, no names';

-- How old the plan of each club is. In whose zone the club's days begin is for
-- the program to say, which knows all zones.
CREATE FUNCTION club_plans() RETURNS TABLE(zone text, planned_on date, other_rules boolean)
    LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp SET enable_seqscan = on
    AS $$
        SELECT (array_agg(a.timezone ORDER BY a.id))[1],
               CASE WHEN count(a.planned_on) = count(*) THEN min(a.planned_on) END,
               bool_or(a.planned_rules IS DISTINCT FROM r.version)
          FROM public.apiary a
          JOIN (SELECT club_id, max(version) AS version FROM public.rules GROUP BY club_id) r USING (club_id)
         GROUP BY a.club_id $$;
REVOKE EXECUTE ON FUNCTION club_plans() FROM PUBLIC;
GRANT EXECUTE ON FUNCTION club_plans() TO pryday_app;
COMMENT ON FUNCTION club_plans() IS 'of each club that has apiaries: the day that all of them are planned for, empty where one never was, and whether one was planned by rules that are no longer in force';

-- +goose Down
DROP FUNCTION club_plans();
DROP FUNCTION service_counts(timestamptz);
