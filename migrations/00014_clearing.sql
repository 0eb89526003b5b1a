-- +goose Up

-- The audit trail is only ever added to, but for what is older than four years:
-- that the serving role may take away, through this and in no other way. It
-- returns how many lines of the present club went, at most so many at a time.
CREATE FUNCTION clear_audit(most integer) RETURNS integer
    LANGUAGE sql VOLATILE SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$
        WITH old AS (
            SELECT club_id, id FROM public.audit
             WHERE club_id = public.current_club() AND at < now() - interval '4 years'
             ORDER BY id LIMIT most FOR UPDATE SKIP LOCKED),
        gone AS (
            DELETE FROM public.audit a USING old WHERE a.club_id = old.club_id AND a.id = old.id RETURNING 1)
        SELECT count(*)::integer FROM gone $$;
REVOKE EXECUTE ON FUNCTION clear_audit(integer) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION clear_audit(integer) TO pryday_app;

-- One mailed address that gives a person another e-mail address, which it is
-- mailed to: the SHA-256 of its token, used once.
CREATE TABLE address_change (
    token_hash bytea PRIMARY KEY CHECK (octet_length(token_hash) = 32),
    person_id  bigint NOT NULL REFERENCES person ON DELETE CASCADE,
    email      text NOT NULL CHECK (email LIKE '%_@_%' AND char_length(email) <= 320),
    created_at timestamptz NOT NULL DEFAULT now(),
    expires_at timestamptz NOT NULL,
    used_at    timestamptz,
    CONSTRAINT lives_for_some_time CHECK (expires_at > created_at)
);
CREATE INDEX address_change_person ON address_change (person_id, created_at);

-- +goose Down
DROP TABLE address_change;
DROP FUNCTION clear_audit(integer);
