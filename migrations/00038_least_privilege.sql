-- +goose Up

-- What is about a person and no club, and what signs, the serving role reaches
-- through the functions below alone, each of which does one thing. What a table
-- of its own is to be read or written by, a migration says from now on.
ALTER DEFAULT PRIVILEGES IN SCHEMA public REVOKE ALL ON TABLES FROM pryday_app;
ALTER DEFAULT PRIVILEGES IN SCHEMA public REVOKE ALL ON SEQUENCES FROM pryday_app;
REVOKE ALL ON person, sign_in, sign_in_token, address_change, passkey, sessions, secret FROM pryday_app;
REVOKE ALL ON SEQUENCE person_id_seq, sign_in_id_seq, passkey_id_seq FROM pryday_app;

-- Of a calendar address the role writes the hash of its token when it makes one,
-- and never reads it.
REVOKE ALL ON calendar_link FROM pryday_app;
GRANT SELECT (club_id, id, kind, member_id, apiary_id, label, confirmed_only, alarms, timed, far, exact_place,
              created_at, changed_at, replaced_at, revoked_at, fetched_at, fetched_by, fetches, shown_version, language),
      INSERT (club_id, token_hash, kind, member_id, apiary_id, label, confirmed_only, alarms, timed, far, exact_place),
      UPDATE (member_id, apiary_id, label, confirmed_only, alarms, timed, far, exact_place,
              changed_at, replaced_at, revoked_at, fetched_at, fetched_by, fetches, shown_version, language)
   ON calendar_link TO pryday_app;

-- The job engine works as the serving role, and its history is the migrations'.
REVOKE INSERT, UPDATE, DELETE ON river_migration FROM pryday_app;

-- +goose StatementBegin
CREATE FUNCTION link_of_token(hash bytea) RETURNS bigint
    LANGUAGE plpgsql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$
BEGIN
    RETURN (SELECT id FROM public.calendar_link WHERE token_hash = hash AND club_id = public.current_club());
END $$;
-- +goose StatementEnd
COMMENT ON FUNCTION link_of_token IS 'the calendar address of the present club with a token';

-- People, as a club knows them. Functions of a page's every reading are plpgsql, which
-- keeps its plans for a connection, as sql does not.

-- +goose StatementBegin
CREATE FUNCTION club_people() RETURNS TABLE (id bigint, email text, refused_at timestamptz, refused_reply text, buttons_ended integer)
    LANGUAGE plpgsql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp ROWS 100
    AS $$
BEGIN
    RETURN QUERY SELECT p.id, p.email, p.refused_at, p.refused_reply, p.buttons_ended
      FROM public.member m JOIN public.person p ON p.id = m.person_id WHERE m.club_id = public.current_club();
END $$;
-- +goose StatementEnd
COMMENT ON FUNCTION club_people IS 'the people of the present club';

-- +goose StatementBegin
CREATE FUNCTION club_person(whom bigint) RETURNS TABLE (id bigint, email text, refused_at timestamptz, refused_reply text, buttons_ended integer)
    LANGUAGE plpgsql STABLE STRICT SECURITY DEFINER SET search_path = pg_catalog, pg_temp ROWS 1
    AS $$
BEGIN
    RETURN QUERY SELECT p.id, p.email, p.refused_at, p.refused_reply, p.buttons_ended
      FROM public.member m JOIN public.person p ON p.id = m.person_id WHERE m.club_id = public.current_club() AND m.person_id = whom;
END $$;
-- +goose StatementEnd
COMMENT ON FUNCTION club_person IS 'one of club_people';

-- +goose StatementBegin
CREATE FUNCTION invited_people() RETURNS TABLE (id bigint, email text)
    LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp ROWS 5
    AS $$ SELECT p.id, p.email FROM public.invitation i JOIN public.person p ON p.id = i.person_id WHERE i.club_id = public.current_club() $$;
-- +goose StatementEnd
COMMENT ON FUNCTION invited_people IS 'whom the present club has invited';

-- +goose StatementBegin
CREATE FUNCTION person_by_id(whom bigint) RETURNS TABLE (id bigint, email text, refused_at timestamptz, refused_reply text)
    LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp ROWS 1
    AS $$ SELECT p.id, p.email, p.refused_at, coalesce(p.refused_reply, '') FROM public.person p WHERE p.id = whom $$;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE FUNCTION person_by_email(address text) RETURNS TABLE (id bigint, email text, refused_at timestamptz, refused_reply text)
    LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp ROWS 1
    AS $$ SELECT p.id, p.email, p.refused_at, coalesce(p.refused_reply, '') FROM public.person p WHERE lower(p.email) = lower(address) $$;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE FUNCTION ensure_person(address text) RETURNS bigint
    LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$
BEGIN
    INSERT INTO public.person (email) VALUES (address) ON CONFLICT (lower(email)) DO NOTHING;
    RETURN (SELECT p.id FROM public.person p WHERE lower(p.email) = lower(address));
END $$;
-- +goose StatementEnd
COMMENT ON FUNCTION ensure_person IS 'the person of an address, made where there is none';

-- +goose StatementBegin
CREATE FUNCTION forget_person(whom bigint) RETURNS void
    LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$
BEGIN
    DELETE FROM public.person WHERE id = whom;
EXCEPTION WHEN foreign_key_violation THEN
    NULL; -- of another club
END $$;
-- +goose StatementEnd
COMMENT ON FUNCTION forget_person IS 'deletes a person of no club; of whom there is another, nothing';

-- +goose StatementBegin
CREATE FUNCTION mark_refused(whom bigint, address text, reply text) RETURNS boolean
    LANGUAGE sql SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$
        UPDATE public.person SET refused_at = CASE WHEN lower(email) = lower(coalesce(address, email)) THEN now() ELSE refused_at END,
               refused_reply = CASE WHEN lower(email) = lower(coalesce(address, email)) THEN reply ELSE refused_reply END
         WHERE id = whom RETURNING true $$;
-- +goose StatementEnd
COMMENT ON FUNCTION mark_refused IS 'notes that a mail server refused a person''s address; another one, or a former one, marks nothing';

-- +goose StatementBegin
CREATE FUNCTION clear_refused(whom bigint) RETURNS boolean
    LANGUAGE sql SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$ UPDATE public.person SET refused_at = NULL, refused_reply = NULL WHERE id = whom RETURNING true $$;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE FUNCTION person_data(whom bigint) RETURNS TABLE (email text, kept jsonb)
    LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp ROWS 1
    AS $$
        SELECT p.email, jsonb_build_object('email', p.email, 'known_since', p.created_at, 'mail_refused_at', p.refused_at, 'mail_refused', p.refused_reply,
               'sign_ins', (SELECT coalesce(jsonb_agg(to_jsonb(i) - 'person_id' - 'id' ORDER BY i.id), '[]') FROM public.sign_in i WHERE i.person_id = p.id),
               'passkeys', (SELECT coalesce(jsonb_agg(jsonb_build_object('label', k.label, 'created_at', k.created_at, 'used_at', k.used_at) ORDER BY k.id), '[]') FROM public.passkey k WHERE k.person_id = p.id),
               'address_changes', (SELECT coalesce(jsonb_agg(jsonb_build_object('email', a.email, 'created_at', a.created_at) ORDER BY a.created_at), '[]') FROM public.address_change a WHERE a.person_id = p.id))
          FROM public.person p WHERE p.id = whom $$;
-- +goose StatementEnd
COMMENT ON FUNCTION person_data IS 'what is kept about a person beside their clubs, without secrets';

-- +goose StatementBegin
CREATE FUNCTION memberships_of(whom bigint) RETURNS TABLE (person_id bigint, club_id bigint, club_name text, member_id bigint, role text, ended_sign_in bigint)
    LANGUAGE plpgsql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp ROWS 2
    AS $$
BEGIN
    RETURN QUERY SELECT m.person_id, m.club_id, c.name, m.id, m.role, m.ended_sign_in
      FROM public.member m JOIN public.club c ON c.id = m.club_id WHERE m.person_id = whom ORDER BY m.club_id;
END $$;
-- +goose StatementEnd

-- Changes of address.

-- +goose StatementBegin
CREATE FUNCTION ask_address(whom bigint, address text, hash bytea, life interval, an_hour integer, a_day integer, of_it_a_day integer) RETURNS boolean
    LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$
BEGIN
    PERFORM FROM public.person WHERE id = whom FOR NO KEY UPDATE;
    IF NOT FOUND THEN
        RETURN NULL;
    END IF;
    IF (SELECT count(*) FILTER (WHERE person_id = whom AND created_at > now() - interval '1 hour') >= an_hour
            OR count(*) FILTER (WHERE person_id = whom) >= a_day
            OR count(*) FILTER (WHERE lower(email) = lower(address)) >= of_it_a_day
          FROM public.address_change WHERE NOT undo AND created_at > now() - interval '1 day') THEN
        RETURN false;
    END IF;
    PERFORM public.withdraw_address(whom);
    INSERT INTO public.address_change (token_hash, person_id, email, undo, expires_at) VALUES (hash, whom, address, false, now() + life);
    RETURN true;
END $$;
-- +goose StatementEnd
COMMENT ON FUNCTION ask_address IS 'notes that a person is to have another address once that is confirmed; false where it was asked for too often, nothing for no person';

-- +goose StatementBegin
CREATE FUNCTION withdraw_address(whom bigint) RETURNS void
    LANGUAGE sql SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$ UPDATE public.address_change SET used_at = now() WHERE person_id = whom AND NOT undo AND used_at IS NULL $$;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE FUNCTION asked_address(whom bigint) RETURNS TABLE (person_id bigint, email text, undo boolean, created_at timestamptz, expires_at timestamptz, used boolean, open boolean)
    LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp ROWS 1
    AS $$ SELECT a.person_id, a.email, a.undo, a.created_at, a.expires_at, false, true FROM public.address_change a
           WHERE a.person_id = whom AND NOT a.undo AND a.used_at IS NULL AND a.expires_at > now() $$;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE FUNCTION address_change_of(hash bytea) RETURNS TABLE (person_id bigint, email text, undo boolean, created_at timestamptz, expires_at timestamptz, used boolean, open boolean)
    LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp ROWS 1
    AS $$ SELECT a.person_id, a.email, a.undo, a.created_at, a.expires_at, a.used_at IS NOT NULL, a.used_at IS NULL AND a.expires_at > now()
            FROM public.address_change a WHERE a.token_hash = hash $$;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE FUNCTION use_address_change(hash bytea, back boolean, way_back bytea, life interval) RETURNS text
    LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$
DECLARE
    change public.address_change; old text;
BEGIN
    SELECT p.email INTO old FROM public.person p JOIN public.address_change a ON a.person_id = p.id WHERE a.token_hash = hash FOR NO KEY UPDATE OF p;
    UPDATE public.address_change SET used_at = now()
     WHERE token_hash = hash AND undo = back AND used_at IS NULL AND expires_at > now() RETURNING * INTO change;
    IF NOT FOUND THEN
        RETURN NULL;
    END IF;
    UPDATE public.person SET email = change.email, refused_at = NULL, refused_reply = NULL WHERE id = change.person_id;
    IF back THEN
        UPDATE public.address_change SET used_at = now()
         WHERE person_id = change.person_id AND used_at IS NULL AND (NOT undo OR created_at > change.created_at);
    ELSE
        INSERT INTO public.address_change (token_hash, person_id, email, undo, expires_at) VALUES (way_back, change.person_id, old, true, now() + life);
    END IF;
    RETURN old;
END $$;
-- +goose StatementEnd
COMMENT ON FUNCTION use_address_change IS 'gives a person the address of a token, with a way back, and returns the one before; nothing where the token was used or is too old';

-- Sign-ins.

-- +goose StatementBegin
CREATE FUNCTION note_sign_in(whom bigint, how text, from_browser text, from_system text, came_from text, ran_by text) RETURNS bigint
    LANGUAGE plpgsql SET search_path = pg_catalog, pg_temp
    AS $$
DECLARE
    made bigint;
BEGIN
    INSERT INTO public.sign_in (person_id, way, browser, system, source) VALUES (whom, how, from_browser, from_system, came_from) RETURNING id INTO made;
    IF how IN ('mail', 'passkey') THEN -- the other ways have a line of their own
        PERFORM public.audit_person(whom, 'sign in with ' || how, ran_by, came_from);
    END IF;
    RETURN made;
END $$;
-- +goose StatementEnd
COMMENT ON FUNCTION note_sign_in IS 'what the functions that sign in have in common; nobody else calls it';

-- +goose StatementBegin
CREATE FUNCTION begin_sign_in(whom bigint, began_before timestamptz, how text, from_browser text, from_system text, came_from text, ran_by text) RETURNS TABLE (person_id bigint, sign_in bigint)
    LANGUAGE sql SECURITY DEFINER SET search_path = pg_catalog, pg_temp ROWS 1
    AS $$ SELECT p.id, public.note_sign_in(p.id, how, from_browser, from_system, came_from, ran_by)
            FROM public.person p WHERE p.id = whom AND (began_before IS NULL OR p.sessions_since <= began_before) $$;
-- +goose StatementEnd
COMMENT ON FUNCTION begin_sign_in IS 'signs a person in; with a time, takes over a session that began then, unless it was ended since';

-- +goose StatementBegin
CREATE FUNCTION use_sign_in_token(hash bytea, from_browser text, from_system text, came_from text, ran_by text) RETURNS TABLE (person_id bigint, sign_in bigint)
    LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp ROWS 1
    AS $$
BEGIN
    UPDATE public.sign_in_token t SET used_at = now()
     WHERE t.token_hash = hash AND t.used_at IS NULL AND t.expires_at > now() RETURNING t.person_id INTO person_id;
    IF FOUND THEN
        sign_in := public.note_sign_in(person_id, 'mail', from_browser, from_system, came_from, ran_by);
        RETURN NEXT;
    END IF;
END $$;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE FUNCTION new_sign_in(whom bigint, hash bytea, life interval) RETURNS void
    LANGUAGE sql SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$ INSERT INTO public.sign_in_token (token_hash, person_id, expires_at) VALUES (hash, whom, now() + life) $$;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE FUNCTION person_of_token(hash bytea) RETURNS TABLE (id bigint, email text, refused_at timestamptz, refused_reply text)
    LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp ROWS 1
    AS $$ SELECT p.id, p.email, p.refused_at, coalesce(p.refused_reply, '')
            FROM public.person p JOIN public.sign_in_token t ON t.person_id = p.id
           WHERE t.token_hash = hash AND t.used_at IS NULL AND t.expires_at > now() $$;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE FUNCTION knows_token(hash bytea) RETURNS boolean
    LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$ SELECT EXISTS (SELECT FROM public.sign_in_token WHERE token_hash = hash) $$;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE FUNCTION signed_in(whom bigint, by_sign_in bigint) RETURNS TABLE (id bigint, email text, refused_at timestamptz, refused_reply text)
    LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp ROWS 1
    AS $$
BEGIN
    UPDATE public.sign_in i SET seen_at = now()
     WHERE i.id = by_sign_in AND i.person_id = whom AND i.ended_at IS NULL AND i.seen_at < now() - interval '1 hour';
    RETURN QUERY SELECT p.id, p.email, p.refused_at, coalesce(p.refused_reply, '')
      FROM public.person p JOIN public.sign_in i ON i.person_id = p.id WHERE p.id = whom AND i.id = by_sign_in AND i.ended_at IS NULL;
END $$;
-- +goose StatementEnd
COMMENT ON FUNCTION signed_in IS 'whom a sign-in that holds signs in; notes to the hour that it was seen';

-- +goose StatementBegin
CREATE FUNCTION sign_ins_of(whom bigint, longest interval) RETURNS TABLE (id bigint, way text, browser text, system text, source text, began_at timestamptz, seen_at timestamptz)
    LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$ SELECT i.id, i.way, i.browser, i.system, i.source, i.began_at, i.seen_at FROM public.sign_in i
           WHERE i.person_id = whom AND i.ended_at IS NULL AND i.began_at > now() - longest ORDER BY i.id DESC $$;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE FUNCTION end_sign_in(whom bigint, which bigint, ran_by text, came_from text) RETURNS boolean
    LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$
BEGIN
    UPDATE public.sign_in SET ended_at = now() WHERE person_id = whom AND id = which AND ended_at IS NULL;
    IF FOUND THEN
        PERFORM public.audit_person(whom, 'sign out', ran_by, came_from);
    END IF;
    RETURN FOUND;
END $$;
-- +goose StatementEnd

-- Passkeys.

-- +goose StatementBegin
CREATE FUNCTION add_passkey(whom bigint, its_credential bytea, its_data jsonb, its_label text, ran_by text, came_from text) RETURNS bigint
    LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$
DECLARE
    made bigint;
BEGIN
    INSERT INTO public.passkey (person_id, credential, data, label) VALUES (whom, its_credential, its_data, its_label) RETURNING id INTO made;
    PERFORM public.audit_person(whom, 'add passkey', ran_by, came_from);
    RETURN made;
END $$;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE FUNCTION passkeys_of(whom bigint) RETURNS TABLE (id bigint, person_id bigint, credential bytea, data jsonb, label text, created_at timestamptz, used_at timestamptz)
    LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp ROWS 3
    AS $$ SELECT k.id, k.person_id, k.credential, k.data, k.label, k.created_at, k.used_at FROM public.passkey k WHERE k.person_id = whom ORDER BY k.id $$;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE FUNCTION passkey_by_credential(its_credential bytea) RETURNS TABLE (id bigint, person_id bigint, credential bytea, data jsonb, label text, created_at timestamptz, used_at timestamptz)
    LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp ROWS 1
    AS $$ SELECT k.id, k.person_id, k.credential, k.data, k.label, k.created_at, k.used_at FROM public.passkey k WHERE k.credential = its_credential $$;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE FUNCTION use_passkey(which bigint, its_data jsonb, from_browser text, from_system text, came_from text, ran_by text) RETURNS TABLE (person_id bigint, sign_in bigint)
    LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp ROWS 1
    AS $$
BEGIN
    UPDATE public.passkey k SET used_at = now(), data = its_data WHERE k.id = which RETURNING k.person_id INTO person_id;
    IF FOUND THEN
        sign_in := public.note_sign_in(person_id, 'passkey', from_browser, from_system, came_from, ran_by);
        RETURN NEXT;
    END IF;
END $$;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE FUNCTION end_passkey(whom bigint, which bigint, ran_by text, came_from text) RETURNS boolean
    LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$
BEGIN
    DELETE FROM public.passkey WHERE person_id = whom AND id = which;
    IF FOUND THEN
        PERFORM public.audit_person(whom, 'end passkey', ran_by, came_from);
    END IF;
    RETURN FOUND;
END $$;
-- +goose StatementEnd

-- Sessions of browsers; token is a hash.

-- +goose StatementBegin
CREATE FUNCTION find_session(its_token text) RETURNS bytea
    LANGUAGE plpgsql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$
BEGIN
    RETURN (SELECT data FROM public.sessions WHERE token = its_token AND expiry > now());
END $$;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE FUNCTION save_session(its_token text, its_data bytea, until timestamptz) RETURNS void
    LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$
BEGIN
    INSERT INTO public.sessions (token, data, expiry) VALUES (its_token, its_data, until)
    ON CONFLICT (token) DO UPDATE SET data = excluded.data, expiry = excluded.expiry;
END $$;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE FUNCTION end_session(its_token text) RETURNS void
    LANGUAGE sql SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$ DELETE FROM public.sessions WHERE token = its_token $$;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE FUNCTION clear_sessions() RETURNS void
    LANGUAGE sql SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$ DELETE FROM public.sessions WHERE expiry < now() $$;
-- +goose StatementEnd

-- Clearing: the times stand here, so that the serving role cannot take away
-- what is younger.

-- +goose StatementBegin
CREATE FUNCTION clear_tokens(most integer) RETURNS integer
    LANGUAGE sql SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$
        WITH sign_ins AS (
            DELETE FROM public.sign_in_token WHERE token_hash = ANY (ARRAY(
                SELECT token_hash FROM public.sign_in_token WHERE expires_at < now() - interval '30 days' LIMIT most FOR UPDATE SKIP LOCKED)) RETURNING 1),
        changes AS (
            DELETE FROM public.address_change WHERE token_hash = ANY (ARRAY(
                SELECT token_hash FROM public.address_change WHERE expires_at < now() - interval '30 days' LIMIT most FOR UPDATE SKIP LOCKED)) RETURNING 1)
        SELECT (SELECT count(*) FROM sign_ins)::integer + (SELECT count(*) FROM changes)::integer $$;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE FUNCTION clear_sign_ins(most integer) RETURNS integer
    LANGUAGE sql SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$
        WITH gone AS (
            DELETE FROM public.sign_in WHERE id = ANY (ARRAY(
                SELECT id FROM public.sign_in WHERE seen_at < now() - interval '120 days' LIMIT most FOR UPDATE SKIP LOCKED)) RETURNING 1)
        SELECT count(*)::integer FROM gone $$;
-- +goose StatementEnd

-- Signing keys: of each name one signs; those before it are known again until
-- they end.
ALTER TABLE secret DROP CONSTRAINT secret_pkey, ADD COLUMN id bigint GENERATED BY DEFAULT AS IDENTITY PRIMARY KEY, ADD COLUMN ends_at timestamptz;
COMMENT ON COLUMN secret.ends_at IS 'until when what it signed is known again; empty for the one that signs';
CREATE UNIQUE INDEX one_key_signs ON secret (name) WHERE ends_at IS NULL;
CREATE INDEX secret_name ON secret (name);

-- +goose StatementBegin
CREATE FUNCTION new_key(which text) RETURNS void
    LANGUAGE sql SET search_path = pg_catalog, pg_temp
    AS $$ INSERT INTO public.secret (name, value)
          VALUES (which, sha256(uuid_send(gen_random_uuid()) || uuid_send(gen_random_uuid()) || uuid_send(gen_random_uuid())))
          ON CONFLICT (name) WHERE ends_at IS NULL DO NOTHING $$;
-- +goose StatementEnd
COMMENT ON FUNCTION new_key IS '256 bits out of 366 random ones; nobody but functions of the owner''s calls it, and nobody chooses a key';

-- +goose StatementBegin
CREATE FUNCTION signing_keys(which text) RETURNS TABLE (value bytea, made_at timestamptz, ends_at timestamptz)
    LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp ROWS 2
    AS $$
BEGIN
    DELETE FROM public.secret s WHERE s.ends_at <= now();
    IF NOT EXISTS (SELECT FROM public.secret s WHERE s.name = which AND s.ends_at IS NULL) THEN
        PERFORM public.new_key(which);
    END IF;
    RETURN QUERY SELECT s.value, s.created_at, s.ends_at FROM public.secret s WHERE s.name = which ORDER BY s.ends_at DESC; -- the one without an end first
END $$;
-- +goose StatementEnd
COMMENT ON FUNCTION signing_keys IS 'the keys of a name, the one that signs first, made where there is none; forgets those that ended';

-- +goose StatementBegin
CREATE FUNCTION rotate_keys(keep interval) RETURNS void
    LANGUAGE plpgsql SET search_path = pg_catalog, pg_temp
    AS $$
DECLARE
    names text[] := ARRAY(SELECT DISTINCT name FROM public.secret ORDER BY name);
BEGIN
    UPDATE public.secret SET ends_at = least(coalesce(ends_at, 'infinity'), now() + keep);
    DELETE FROM public.secret WHERE ends_at <= now();
    PERFORM public.new_key(n) FROM unnest(names) n;
    PERFORM pg_notify('pryday_feed', 'keys');
END $$;
-- +goose StatementEnd
COMMENT ON FUNCTION rotate_keys IS 'makes a new key of each name; those before it end in so long, or when they would have. For the owner alone';

-- +goose StatementBegin
DO $$
DECLARE
    f regprocedure;
BEGIN
    FOR f IN SELECT oid::regprocedure FROM pg_proc WHERE pronamespace = 'public'::regnamespace AND proname IN (
        'link_of_token', 'club_people', 'club_person', 'invited_people', 'person_by_id', 'person_by_email', 'ensure_person', 'forget_person', 'mark_refused', 'clear_refused',
        'person_data', 'memberships_of', 'ask_address', 'withdraw_address', 'asked_address', 'address_change_of', 'use_address_change', 'begin_sign_in',
        'use_sign_in_token', 'new_sign_in', 'person_of_token', 'knows_token', 'signed_in', 'sign_ins_of', 'end_sign_in', 'add_passkey', 'passkeys_of',
        'passkey_by_credential', 'use_passkey', 'end_passkey', 'find_session', 'save_session', 'end_session', 'clear_sessions', 'clear_tokens',
        'clear_sign_ins', 'signing_keys')
    LOOP
        EXECUTE format('REVOKE ALL ON FUNCTION %s FROM PUBLIC', f);
        EXECUTE format('GRANT EXECUTE ON FUNCTION %s TO pryday_app', f);
    END LOOP;
END $$;
-- +goose StatementEnd
REVOKE ALL ON FUNCTION note_sign_in, new_key, rotate_keys FROM PUBLIC;

-- +goose Down
DELETE FROM secret WHERE ends_at IS NOT NULL;
DROP FUNCTION rotate_keys, signing_keys, new_key, clear_sign_ins, clear_tokens, clear_sessions, end_session, save_session, find_session, end_passkey,
    use_passkey, passkey_by_credential, passkeys_of, add_passkey, end_sign_in, sign_ins_of, signed_in, knows_token, person_of_token, new_sign_in,
    use_sign_in_token, begin_sign_in, note_sign_in, use_address_change, address_change_of, asked_address, ask_address, withdraw_address, memberships_of,
    person_data, clear_refused, mark_refused, forget_person, ensure_person, person_by_email, person_by_id, invited_people, club_person, club_people, link_of_token;
DROP INDEX secret_name;
ALTER TABLE secret DROP COLUMN id, DROP COLUMN ends_at, ADD CONSTRAINT secret_pkey PRIMARY KEY (name);
GRANT INSERT, UPDATE, DELETE ON river_migration TO pryday_app;
REVOKE ALL ON calendar_link FROM pryday_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON calendar_link, person, sign_in, sign_in_token, address_change, passkey, sessions TO pryday_app;
GRANT SELECT, INSERT ON secret TO pryday_app;
GRANT USAGE, SELECT ON SEQUENCE person_id_seq, sign_in_id_seq, passkey_id_seq TO pryday_app;
ALTER DEFAULT PRIVILEGES IN SCHEMA public GRANT SELECT, INSERT, UPDATE, DELETE ON TABLES TO pryday_app;
ALTER DEFAULT PRIVILEGES IN SCHEMA public GRANT USAGE, SELECT ON SEQUENCES TO pryday_app;
