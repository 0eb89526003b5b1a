-- +goose Up

-- Each entry of the trail carries a hash over itself and the one before of its
-- club. Who did it is kept as a number that outlives the membership: a key would
-- empty it, and thus change the entry.
ALTER TABLE audit DROP CONSTRAINT audit_club_id_member_id_fkey,
    ADD COLUMN command text NOT NULL DEFAULT '' CHECK (char_length(command) <= 100),
    ADD COLUMN personal boolean NOT NULL DEFAULT false,
    ADD COLUMN source text NOT NULL DEFAULT '' CHECK (char_length(source) <= 60),
    ADD COLUMN number bigint,
    ADD COLUMN salt bytea,
    ADD COLUMN seal bytea,
    ADD COLUMN source_salt bytea,
    ADD COLUMN source_seal bytea,
    ADD COLUMN hash bytea,
    ADD COLUMN rewritten boolean NOT NULL DEFAULT false;
COMMENT ON COLUMN audit.command IS 'the name at the operating system of whoever gave the command; empty where none was given';
COMMENT ON COLUMN audit.personal IS 'of a person in all their clubs, as signing in: other members of several clubs do not see it';
COMMENT ON COLUMN audit.source IS 'the address that it came from, of IPv6 its network; taken away after 120 days';
COMMENT ON COLUMN audit.number IS 'in its club, from 1 without a gap; given at the end of the transaction';
COMMENT ON COLUMN audit.seal IS 'of what may be rewritten when a person is erased; once it was, the entry of that has the seal that fits';
CREATE UNIQUE INDEX audit_number ON audit (club_id, number);
CREATE INDEX audit_source ON audit (club_id, at) WHERE source <> '';
REVOKE INSERT ON audit FROM pryday_app;
GRANT INSERT (club_id, member_id, action, subject, detail, command, personal, source) ON audit TO pryday_app;

-- The newest entry of each club's trail, and the last one that was cleared, on
-- which the oldest builds.
CREATE TABLE audit_chain (
    club_id      bigint PRIMARY KEY REFERENCES club ON DELETE CASCADE,
    number       bigint NOT NULL DEFAULT 0,
    hash         bytea NOT NULL DEFAULT decode(repeat('00', 32), 'hex'),
    cleared      bigint NOT NULL DEFAULT 0,
    cleared_hash bytea NOT NULL DEFAULT decode(repeat('00', 32), 'hex'),
    CONSTRAINT hashes_are_whole CHECK (octet_length(hash) = 32 AND octet_length(cleared_hash) = 32),
    CONSTRAINT cleared_in_order CHECK (cleared BETWEEN 0 AND number)
);
ALTER TABLE audit_chain ENABLE ROW LEVEL SECURITY;
CREATE POLICY one_club ON audit_chain FOR SELECT USING (club_id = current_club());
REVOKE INSERT, UPDATE, DELETE ON audit_chain FROM pryday_app;

-- What is sealed apart, since it may be rewritten when a person is erased.
CREATE FUNCTION audit_content(e audit) RETURNS text
    LANGUAGE sql STABLE SET search_path = pg_catalog, pg_temp
    AS $$ SELECT jsonb_build_array(coalesce(e.member_id, 0), e.command, e.subject, e.detail)::text $$;
CREATE FUNCTION audit_seal(salt bytea, what text) RETURNS bytea
    LANGUAGE sql IMMUTABLE SET search_path = pg_catalog, pg_temp
    AS $$ SELECT sha256(salt || convert_to(what, 'UTF8')) $$;
CREATE FUNCTION audit_hash(before bytea, e audit) RETURNS bytea
    LANGUAGE sql STABLE SET search_path = pg_catalog, pg_temp
    AS $$ SELECT sha256(convert_to(jsonb_build_array(encode(before, 'hex'), e.number, e.club_id, (extract(epoch FROM e.at) * 1000000)::bigint,
                 e.action, e.personal, encode(e.seal, 'hex'), encode(coalesce(e.source_seal, ''), 'hex'))::text, 'UTF8')) $$;

-- Puts an entry at the end of its club's chain. The club's row of audit_chain is
-- the lock: it is taken at the end of a transaction, after all others.
-- +goose StatementBegin
CREATE FUNCTION chain_audit(club bigint, entry bigint) RETURNS void
    LANGUAGE plpgsql VOLATILE SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$
DECLARE
    head public.audit_chain; e public.audit;
BEGIN
    SELECT * INTO e FROM public.audit WHERE club_id = club AND id = entry;
    IF NOT FOUND THEN -- the club went in the same transaction
        RETURN;
    END IF;
    SELECT * INTO head FROM public.audit_chain WHERE club_id = club FOR UPDATE;
    IF NOT FOUND THEN
        INSERT INTO public.audit_chain (club_id) VALUES (club) ON CONFLICT DO NOTHING;
        SELECT * INTO head FROM public.audit_chain WHERE club_id = club FOR UPDATE;
    END IF;
    e.number := head.number + 1;
    e.salt := uuid_send(gen_random_uuid());
    e.seal := public.audit_seal(e.salt, public.audit_content(e));
    IF e.source <> '' THEN
        e.source_salt := uuid_send(gen_random_uuid());
        e.source_seal := public.audit_seal(e.source_salt, e.source);
    END IF;
    e.hash := public.audit_hash(head.hash, e);
    UPDATE public.audit SET number = e.number, salt = e.salt, seal = e.seal,
           source_salt = e.source_salt, source_seal = e.source_seal, hash = e.hash
     WHERE club_id = club AND id = entry;
    UPDATE public.audit_chain SET number = e.number, hash = e.hash WHERE club_id = club;
END $$;
-- +goose StatementEnd
REVOKE EXECUTE ON FUNCTION chain_audit(bigint, bigint) FROM PUBLIC;

-- +goose StatementBegin
CREATE FUNCTION chain_new_audit() RETURNS trigger
    LANGUAGE plpgsql VOLATILE SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$
BEGIN
    PERFORM public.chain_audit(NEW.club_id, NEW.id);
    RETURN NULL;
END $$;
-- +goose StatementEnd

-- The trail so far, in the order in which it was written.
-- +goose StatementBegin
DO $$
DECLARE
    old record;
BEGIN
    FOR old IN SELECT club_id, id FROM public.audit ORDER BY club_id, id LOOP
        PERFORM public.chain_audit(old.club_id, old.id);
    END LOOP;
END $$;
-- +goose StatementEnd

-- A row that has its number comes out of a backup.
CREATE CONSTRAINT TRIGGER chained AFTER INSERT ON audit DEFERRABLE INITIALLY DEFERRED
    FOR EACH ROW WHEN (NEW.number IS NULL) EXECUTE FUNCTION chain_new_audit();

-- Notes what concerns a person in each of their clubs; it returns in how many.
CREATE FUNCTION audit_person(whom bigint, deed text, ran_by text, came_from text) RETURNS bigint
    LANGUAGE sql VOLATILE SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$ WITH noted AS (
              INSERT INTO public.audit (club_id, member_id, action, subject, command, personal, source)
              SELECT m.club_id, m.id, deed, '', ran_by, true, came_from FROM public.member m WHERE m.person_id = whom ORDER BY m.club_id
              RETURNING 1)
          SELECT count(*) FROM noted $$;
REVOKE EXECUTE ON FUNCTION audit_person(bigint, text, text, text) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION audit_person(bigint, text, text, text) TO pryday_app;

-- Clears the oldest entries up to the first that is to be kept, so that what is
-- left hangs together with the last that went.
-- +goose StatementBegin
CREATE OR REPLACE FUNCTION clear_audit(most integer) RETURNS integer
    LANGUAGE plpgsql VOLATILE SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$
DECLARE
    head public.audit_chain; upto bigint; gone integer;
BEGIN
    IF NOT EXISTS (SELECT FROM public.audit WHERE club_id = public.current_club() AND at < now() - interval '4 years') THEN
        RETURN 0;
    END IF;
    SELECT * INTO head FROM public.audit_chain WHERE club_id = public.current_club() FOR UPDATE;
    SELECT min(number) - 1 INTO upto FROM public.audit WHERE club_id = head.club_id AND at >= now() - interval '4 years';
    upto := least(coalesce(upto, head.number), head.cleared + most);
    UPDATE public.audit_chain c SET cleared = a.number, cleared_hash = a.hash
      FROM public.audit a WHERE c.club_id = head.club_id AND a.club_id = c.club_id AND a.number = upto;
    DELETE FROM public.audit WHERE club_id = head.club_id AND number <= upto;
    GET DIAGNOSTICS gone = ROW_COUNT;
    RETURN gone;
END $$;
-- +goose StatementEnd

-- Takes away where entries came from once it has been kept as long as sign-ins
-- are; it returns of how many, at most so many at a time.
CREATE FUNCTION clear_audit_sources(most integer) RETURNS integer
    LANGUAGE sql VOLATILE SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$
        WITH old AS (
            SELECT club_id, id FROM public.audit
             WHERE club_id = public.current_club() AND source <> '' AND at < now() - interval '120 days'
             ORDER BY at LIMIT most FOR UPDATE SKIP LOCKED),
        gone AS (
            UPDATE public.audit a SET source = '', source_salt = NULL FROM old WHERE a.club_id = old.club_id AND a.id = old.id RETURNING 1)
        SELECT count(*)::integer FROM gone $$;
REVOKE EXECUTE ON FUNCTION clear_audit_sources(integer) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION clear_audit_sources(integer) TO pryday_app;

-- Erases a person from all clubs: name and address go wherever they stand as
-- such, also from what was mailed and from the trails, which the serving role
-- cannot change. What was done to boxes stays, as done by a former member; what
-- people wrote as notes stays as they wrote it. It fails with PD001 for the last
-- organiser of a club, whose name is the detail.
-- What is rewritten of the trail is noted in it, with seals of what stands there
-- instead.
-- +goose StatementBegin
CREATE FUNCTION erase_person(whom bigint, instead text, ran_by text) RETURNS void
    LANGUAGE plpgsql VOLATILE SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$
DECLARE
    address_of text; mine record; lacking text;
BEGIN
    PERFORM FROM public.club
      WHERE id IN (SELECT club_id FROM public.member WHERE person_id = whom) ORDER BY id FOR NO KEY UPDATE;
    SELECT email INTO address_of FROM public.person WHERE id = whom FOR UPDATE;
    SELECT string_agg(c.name, ', ' ORDER BY c.id) INTO lacking FROM public.club c JOIN public.member m ON m.club_id = c.id AND m.person_id = whom
     WHERE m.role = 'organiser' AND NOT EXISTS (
           SELECT FROM public.member o WHERE o.club_id = c.id AND o.role = 'organiser' AND o.person_id <> whom);
    IF lacking IS NOT NULL THEN
        RAISE EXCEPTION 'the last organiser' USING ERRCODE = 'PD001', DETAIL = lacking;
    END IF;
    FOR mine IN
        SELECT m.club_id, m.id, m.name, '\m' || regexp_replace(m.name, '([^[:alnum:]])', '\\\1', 'g') || '(?!\w)' AS named,
               '(?i)' || regexp_replace(address_of, '([^[:alnum:]])', '\\\1', 'g') AS mailed
          FROM public.member m WHERE m.person_id = whom ORDER BY m.club_id
    LOOP
        UPDATE public.calendar_link SET member_id = NULL, revoked_at = coalesce(revoked_at, now()), label = '', fetched_by = '',
               language = (SELECT m.language FROM public.member m WHERE m.club_id = mine.club_id AND m.id = mine.id)
         WHERE club_id = mine.club_id AND member_id = mine.id;
        UPDATE public.opening SET opened_by_name = '' WHERE club_id = mine.club_id AND opened_by_name = mine.name;
        UPDATE public.message SET address = '', reply = '', returned_reply = '', reason = '', items = '[]'
         WHERE club_id = mine.club_id AND (member_id = mine.id OR lower(address) = lower(address_of));
        UPDATE public.invitation SET invited_by = instead WHERE club_id = mine.club_id AND invited_by = mine.name;
        UPDATE public.message SET reason = 'invited by ' || instead
         WHERE club_id = mine.club_id AND reason = 'invited by ' || mine.name;
        UPDATE public.message SET items = replace(items::text, to_json(mine.name)::text, to_json(instead)::text)::jsonb
         WHERE club_id = mine.club_id AND position(to_json(mine.name)::text IN items::text) > 0;
        UPDATE public.audit SET source = '', source_salt = NULL WHERE club_id = mine.club_id AND member_id = mine.id AND source <> '';
        WITH rewritten AS (
            UPDATE public.audit a SET salt = uuid_send(gen_random_uuid()), rewritten = true,
                   subject = regexp_replace(regexp_replace(subject, mine.mailed, instead, 'g'), mine.named, instead, 'g'),
                   detail = regexp_replace(replace(detail::text, to_json(mine.name)::text, to_json(instead)::text), mine.mailed, instead, 'g')::jsonb
             WHERE club_id = mine.club_id
               AND (subject ~ mine.named OR subject ~ mine.mailed OR detail::text ~ mine.mailed OR position(to_json(mine.name)::text IN detail::text) > 0)
            RETURNING a.number, public.audit_seal(a.salt, public.audit_content(a)) AS seal)
        INSERT INTO public.audit (club_id, action, subject, command, detail)
        SELECT mine.club_id, 'erase person', instead, ran_by,
               jsonb_build_object('rewritten', coalesce(jsonb_agg(jsonb_build_array(number, encode(seal, 'hex')) ORDER BY number), '[]'))
          FROM rewritten;
        UPDATE public.inbound_mail SET from_name = '', from_email = '', sender = '', subject = '', body = ''
         WHERE club_id = mine.club_id AND lower(from_email) = lower(address_of);
        DELETE FROM public.member WHERE club_id = mine.club_id AND id = mine.id;
        UPDATE public.club SET feed_version = feed_version + 1 WHERE id = mine.club_id;
        PERFORM pg_notify('pryday_feed', c.id || ' ' || c.feed_version) FROM public.club c WHERE c.id = mine.club_id;
    END LOOP;
    DELETE FROM public.person WHERE id = whom;
END $$;
-- +goose StatementEnd
REVOKE EXECUTE ON FUNCTION erase_person(bigint, text, text) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION erase_person(bigint, text, text) TO pryday_app;

-- +goose Down
DROP FUNCTION erase_person(bigint, text, text);
DROP FUNCTION clear_audit_sources(integer);
DROP FUNCTION clear_audit(integer);
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
DROP FUNCTION audit_person(bigint, text, text, text);
DROP TRIGGER chained ON audit;
DROP FUNCTION chain_new_audit();
DROP FUNCTION chain_audit(bigint, bigint);
DROP FUNCTION audit_hash(bytea, audit);
DROP FUNCTION audit_seal(bytea, text);
DROP FUNCTION audit_content(audit);
DROP TABLE audit_chain;
DROP INDEX audit_source, audit_number;
GRANT INSERT ON audit TO pryday_app;
ALTER TABLE audit DROP COLUMN rewritten, DROP COLUMN hash, DROP COLUMN source_seal, DROP COLUMN source_salt, DROP COLUMN seal,
    DROP COLUMN salt, DROP COLUMN number, DROP COLUMN source, DROP COLUMN personal, DROP COLUMN command;
UPDATE audit a SET member_id = NULL WHERE NOT EXISTS (SELECT FROM member m WHERE m.club_id = a.club_id AND m.id = a.member_id);
ALTER TABLE audit ADD CONSTRAINT audit_club_id_member_id_fkey
    FOREIGN KEY (club_id, member_id) REFERENCES member (club_id, id) ON DELETE SET NULL (member_id);
