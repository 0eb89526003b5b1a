-- What all migrations together come to, for readers. A test writes it; the
-- job engine's tables are left out.
-- Postgres 15


SET statement_timeout = 0;
SET lock_timeout = 0;
SET idle_in_transaction_session_timeout = 0;
SET client_encoding = 'UTF8';
SET standard_conforming_strings = on;
SELECT pg_catalog.set_config('search_path', '', false);
SET check_function_bodies = false;
SET xmloption = content;
SET client_min_messages = warning;
SET row_security = off;

-- Name: river_job_state; Type: TYPE; Schema: public; Owner: -

CREATE TYPE public.river_job_state AS ENUM (
    'available',
    'cancelled',
    'completed',
    'discarded',
    'pending',
    'retryable',
    'running',
    'scheduled'
);

-- Name: add_passkey(bigint, bytea, jsonb, text, text, text); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.add_passkey(whom bigint, its_credential bytea, its_data jsonb, its_label text, ran_by text, came_from text) RETURNS bigint
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$
DECLARE
    made bigint;
BEGIN
    INSERT INTO public.passkey (person_id, credential, data, label) VALUES (whom, its_credential, its_data, its_label) RETURNING id INTO made;
    PERFORM public.audit_person(whom, 'add passkey', ran_by, came_from);
    RETURN made;
END $$;

-- Name: address_change_of(bytea); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.address_change_of(hash bytea) RETURNS TABLE(person_id bigint, email text, undo boolean, created_at timestamp with time zone, expires_at timestamp with time zone, used boolean, open boolean)
    LANGUAGE sql STABLE SECURITY DEFINER ROWS 1
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$ SELECT a.person_id, a.email, a.undo, a.created_at, a.expires_at, a.used_at IS NOT NULL, a.used_at IS NULL AND a.expires_at > now()
            FROM public.address_change a WHERE a.token_hash = hash $$;

-- Name: ask_address(bigint, text, bytea, interval, integer, integer, integer); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.ask_address(whom bigint, address text, hash bytea, life interval, an_hour integer, a_day integer, of_it_a_day integer) RETURNS boolean
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
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

-- Name: FUNCTION ask_address(whom bigint, address text, hash bytea, life interval, an_hour integer, a_day integer, of_it_a_day integer); Type: COMMENT; Schema: public; Owner: -

COMMENT ON FUNCTION public.ask_address(whom bigint, address text, hash bytea, life interval, an_hour integer, a_day integer, of_it_a_day integer) IS 'notes that a person is to have another address once that is confirmed; false where it was asked for too often, nothing for no person';

-- Name: asked_address(bigint); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.asked_address(whom bigint) RETURNS TABLE(person_id bigint, email text, undo boolean, created_at timestamp with time zone, expires_at timestamp with time zone, used boolean, open boolean)
    LANGUAGE sql STABLE SECURITY DEFINER ROWS 1
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$ SELECT a.person_id, a.email, a.undo, a.created_at, a.expires_at, false, true FROM public.address_change a
           WHERE a.person_id = whom AND NOT a.undo AND a.used_at IS NULL AND a.expires_at > now() $$;

SET default_tablespace = '';

SET default_table_access_method = heap;

-- Name: audit; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.audit (
    club_id bigint NOT NULL,
    id bigint NOT NULL,
    at timestamp with time zone DEFAULT now() NOT NULL,
    member_id bigint,
    action text NOT NULL,
    subject text NOT NULL,
    detail jsonb,
    command text DEFAULT ''::text NOT NULL,
    personal boolean DEFAULT false NOT NULL,
    source text DEFAULT ''::text NOT NULL,
    number bigint,
    salt bytea,
    seal bytea,
    source_salt bytea,
    source_seal bytea,
    hash bytea,
    rewritten boolean DEFAULT false NOT NULL,
    CONSTRAINT audit_action_check CHECK ((action <> ''::text)),
    CONSTRAINT audit_command_check CHECK ((char_length(command) <= 100)),
    CONSTRAINT audit_source_check CHECK ((char_length(source) <= 60))
);

-- Name: COLUMN audit.command; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.audit.command IS 'the name at the operating system of whoever gave the command; empty where none was given';

-- Name: COLUMN audit.personal; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.audit.personal IS 'of a person in all their clubs, as signing in: other members of several clubs do not see it';

-- Name: COLUMN audit.source; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.audit.source IS 'the address that it came from, of IPv6 its network; taken away after 120 days';

-- Name: COLUMN audit.number; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.audit.number IS 'in its club, from 1 without a gap; given at the end of the transaction';

-- Name: COLUMN audit.seal; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.audit.seal IS 'of what may be rewritten when a person is erased; once it was, the entry of that has the seal that fits';

-- Name: audit_content(public.audit); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.audit_content(e public.audit) RETURNS text
    LANGUAGE sql STABLE
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$ SELECT jsonb_build_array(coalesce(e.member_id, 0), e.command, e.subject, e.detail)::text $$;

-- Name: audit_hash(bytea, public.audit); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.audit_hash(before bytea, e public.audit) RETURNS bytea
    LANGUAGE sql STABLE
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$ SELECT sha256(convert_to(jsonb_build_array(encode(before, 'hex'), e.number, e.club_id, (extract(epoch FROM e.at) * 1000000)::bigint,
                 e.action, e.personal, encode(e.seal, 'hex'), encode(coalesce(e.source_seal, ''), 'hex'))::text, 'UTF8')) $$;

-- Name: audit_person(bigint, text, text, text); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.audit_person(whom bigint, deed text, ran_by text, came_from text) RETURNS bigint
    LANGUAGE sql SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$ WITH noted AS (
              INSERT INTO public.audit (club_id, member_id, action, subject, command, personal, source)
              SELECT m.club_id, m.id, deed, '', ran_by, true, came_from FROM public.member m WHERE m.person_id = whom ORDER BY m.club_id
              RETURNING 1)
          SELECT count(*) FROM noted $$;

-- Name: audit_seal(bytea, text); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.audit_seal(salt bytea, what text) RETURNS bytea
    LANGUAGE sql IMMUTABLE
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$ SELECT sha256(salt || convert_to(what, 'UTF8')) $$;

-- Name: begin_sign_in(bigint, timestamp with time zone, text, text, text, text, text); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.begin_sign_in(whom bigint, began_before timestamp with time zone, how text, from_browser text, from_system text, came_from text, ran_by text) RETURNS TABLE(person_id bigint, sign_in bigint)
    LANGUAGE sql SECURITY DEFINER ROWS 1
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$ SELECT p.id, public.note_sign_in(p.id, how, from_browser, from_system, came_from, ran_by)
            FROM public.person p WHERE p.id = whom AND (began_before IS NULL OR p.sessions_since <= began_before) $$;

-- Name: FUNCTION begin_sign_in(whom bigint, began_before timestamp with time zone, how text, from_browser text, from_system text, came_from text, ran_by text); Type: COMMENT; Schema: public; Owner: -

COMMENT ON FUNCTION public.begin_sign_in(whom bigint, began_before timestamp with time zone, how text, from_browser text, from_system text, came_from text, ran_by text) IS 'signs a person in; with a time, takes over a session that began then, unless it was ended since';

-- Name: belongs_elsewhere(bigint); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.belongs_elsewhere(whom bigint) RETURNS boolean
    LANGUAGE sql STABLE SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$ SELECT EXISTS (SELECT FROM public.member WHERE person_id = whom AND club_id <> public.current_club()) $$;

-- Name: boxes_marked(text, integer); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.boxes_marked(prefix text, most integer) RETURNS TABLE(id bigint, exact boolean)
    LANGUAGE sql STABLE SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$
        SELECT b.id, lower(b.name) = lower(prefix) FROM public.box b
         WHERE b.club_id = public.current_club()
           AND lower(b.name) ~>=~ lower(prefix) AND lower(b.name) ~<~ (lower(prefix) || chr(1114111))
         ORDER BY lower(b.name) USING ~<~, b.id LIMIT most $$;

-- Name: FUNCTION boxes_marked(prefix text, most integer); Type: COMMENT; Schema: public; Owner: -

COMMENT ON FUNCTION public.boxes_marked(prefix text, most integer) IS 'the boxes of the present club whose mark begins so, whatever its case; those with no more than that first';

-- Name: chain_audit(bigint, bigint); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.chain_audit(club bigint, entry bigint) RETURNS void
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
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

-- Name: chain_new_audit(); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.chain_new_audit() RETURNS trigger
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$
BEGIN
    PERFORM public.chain_audit(NEW.club_id, NEW.id);
    RETURN NULL;
END $$;

-- Name: clear_audit(integer); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.clear_audit(most integer) RETURNS integer
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
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

-- Name: clear_audit_sources(integer); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.clear_audit_sources(most integer) RETURNS integer
    LANGUAGE sql SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$
        WITH old AS (
            SELECT club_id, id FROM public.audit
             WHERE club_id = public.current_club() AND source <> '' AND at < now() - interval '120 days'
             ORDER BY at LIMIT most FOR UPDATE SKIP LOCKED),
        gone AS (
            UPDATE public.audit a SET source = '', source_salt = NULL FROM old WHERE a.club_id = old.club_id AND a.id = old.id RETURNING 1)
        SELECT count(*)::integer FROM gone $$;

-- Name: clear_refused(bigint); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.clear_refused(whom bigint) RETURNS boolean
    LANGUAGE sql SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$ UPDATE public.person SET refused_at = NULL, refused_reply = NULL WHERE id = whom RETURNING true $$;

-- Name: clear_sessions(); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.clear_sessions() RETURNS void
    LANGUAGE sql SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$ DELETE FROM public.sessions WHERE expiry < now() $$;

-- Name: clear_sign_ins(integer); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.clear_sign_ins(most integer) RETURNS integer
    LANGUAGE sql SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$
        WITH gone AS (
            DELETE FROM public.sign_in WHERE id = ANY (ARRAY(
                SELECT id FROM public.sign_in WHERE seen_at < now() - interval '120 days' LIMIT most FOR UPDATE SKIP LOCKED)) RETURNING 1)
        SELECT count(*)::integer FROM gone $$;

-- Name: clear_tokens(integer); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.clear_tokens(most integer) RETURNS integer
    LANGUAGE sql SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$
        WITH sign_ins AS (
            DELETE FROM public.sign_in_token WHERE token_hash = ANY (ARRAY(
                SELECT token_hash FROM public.sign_in_token WHERE expires_at < now() - interval '30 days' LIMIT most FOR UPDATE SKIP LOCKED)) RETURNING 1),
        changes AS (
            DELETE FROM public.address_change WHERE token_hash = ANY (ARRAY(
                SELECT token_hash FROM public.address_change WHERE expires_at < now() - interval '30 days' LIMIT most FOR UPDATE SKIP LOCKED)) RETURNING 1)
        SELECT (SELECT count(*) FROM sign_ins)::integer + (SELECT count(*) FROM changes)::integer $$;

-- Name: club_ids(); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.club_ids() RETURNS SETOF bigint
    LANGUAGE sql STABLE SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$ SELECT id FROM public.club ORDER BY id $$;

-- Name: club_of_link(bytea); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.club_of_link(hash bytea) RETURNS bigint
    LANGUAGE sql STABLE SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$ SELECT club_id FROM public.calendar_link WHERE token_hash = hash $$;

-- Name: club_people(); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.club_people() RETURNS TABLE(id bigint, email text, refused_at timestamp with time zone, refused_reply text, buttons_ended integer)
    LANGUAGE plpgsql STABLE SECURITY DEFINER ROWS 100
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$
BEGIN
    RETURN QUERY SELECT p.id, p.email, p.refused_at, p.refused_reply, p.buttons_ended
      FROM public.member m JOIN public.person p ON p.id = m.person_id WHERE m.club_id = public.current_club();
END $$;

-- Name: FUNCTION club_people(); Type: COMMENT; Schema: public; Owner: -

COMMENT ON FUNCTION public.club_people() IS 'the people of the present club';

-- Name: club_person(bigint); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.club_person(whom bigint) RETURNS TABLE(id bigint, email text, refused_at timestamp with time zone, refused_reply text, buttons_ended integer)
    LANGUAGE plpgsql STABLE STRICT SECURITY DEFINER ROWS 1
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$
BEGIN
    RETURN QUERY SELECT p.id, p.email, p.refused_at, p.refused_reply, p.buttons_ended
      FROM public.member m JOIN public.person p ON p.id = m.person_id WHERE m.club_id = public.current_club() AND m.person_id = whom;
END $$;

-- Name: FUNCTION club_person(whom bigint); Type: COMMENT; Schema: public; Owner: -

COMMENT ON FUNCTION public.club_person(whom bigint) IS 'one of club_people';

-- Name: club_plans(); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.club_plans() RETURNS TABLE(zone text, planned_on date, other_rules boolean)
    LANGUAGE sql STABLE SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    SET enable_seqscan TO 'on'
    AS $$
        SELECT (array_agg(a.timezone ORDER BY a.id))[1],
               CASE WHEN count(a.planned_on) = count(*) THEN min(a.planned_on) END,
               bool_or(a.planned_rules IS DISTINCT FROM r.version)
          FROM public.apiary a
          JOIN (SELECT club_id, max(version) AS version FROM public.rules GROUP BY club_id) r USING (club_id)
         GROUP BY a.club_id $$;

-- Name: FUNCTION club_plans(); Type: COMMENT; Schema: public; Owner: -

COMMENT ON FUNCTION public.club_plans() IS 'of each club that has apiaries: the day that all of them are planned for, empty where one never was, and whether one was planned by rules that are no longer in force';

-- Name: club_versions(); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.club_versions() RETURNS TABLE(club_id bigint, feed_version bigint, shares_people_with bigint[], quiet_until timestamp with time zone)
    LANGUAGE sql STABLE SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    SET enable_seqscan TO 'on'
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

-- Name: FUNCTION club_versions(); Type: COMMENT; Schema: public; Owner: -

COMMENT ON FUNCTION public.club_versions() IS 'the clubs and how often what people see of each has changed; the first of those that each of its people belongs to; and until when nothing new is owed';

-- Name: clubs_organised(); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.clubs_organised() RETURNS TABLE(person_id bigint, clubs integer)
    LANGUAGE sql STABLE SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$ SELECT mine.person_id, count(*)::integer
            FROM public.member mine
            JOIN public.member m ON m.person_id = mine.person_id AND m.role = 'organiser'
           WHERE mine.club_id = public.current_club() AND mine.role = 'organiser'
           GROUP BY 1 HAVING count(*) > 1 $$;

-- Name: FUNCTION clubs_organised(); Type: COMMENT; Schema: public; Owner: -

COMMENT ON FUNCTION public.clubs_organised() IS 'the organisers of a club who lead others too, and how many in all: what one person is told a month has one limit';

-- Name: current_club(); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.current_club() RETURNS bigint
    LANGUAGE sql STABLE PARALLEL SAFE
    AS $$ SELECT nullif(current_setting('pryday.club', true), '')::bigint $$;

-- Name: end_passkey(bigint, bigint, text, text); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.end_passkey(whom bigint, which bigint, ran_by text, came_from text) RETURNS boolean
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$
BEGIN
    DELETE FROM public.passkey WHERE person_id = whom AND id = which;
    IF FOUND THEN
        PERFORM public.audit_person(whom, 'end passkey', ran_by, came_from);
    END IF;
    RETURN FOUND;
END $$;

-- Name: end_session(text); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.end_session(its_token text) RETURNS void
    LANGUAGE sql SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$ DELETE FROM public.sessions WHERE token = its_token $$;

-- Name: end_sign_in(bigint, bigint, text, text); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.end_sign_in(whom bigint, which bigint, ran_by text, came_from text) RETURNS boolean
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$
BEGIN
    UPDATE public.sign_in SET ended_at = now() WHERE person_id = whom AND id = which AND ended_at IS NULL;
    IF FOUND THEN
        PERFORM public.audit_person(whom, 'sign out', ran_by, came_from);
    END IF;
    RETURN FOUND;
END $$;

-- Name: ensure_person(text); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.ensure_person(address text) RETURNS bigint
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$
BEGIN
    INSERT INTO public.person (email) VALUES (address) ON CONFLICT (lower(email)) DO NOTHING;
    RETURN (SELECT p.id FROM public.person p WHERE lower(p.email) = lower(address));
END $$;

-- Name: FUNCTION ensure_person(address text); Type: COMMENT; Schema: public; Owner: -

COMMENT ON FUNCTION public.ensure_person(address text) IS 'the person of an address, made where there is none';

-- Name: erase_person(bigint, text, text); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.erase_person(whom bigint, instead text, ran_by text) RETURNS void
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
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

-- Name: find_session(text); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.find_session(its_token text) RETURNS bytea
    LANGUAGE plpgsql STABLE SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$
BEGIN
    RETURN (SELECT data FROM public.sessions WHERE token = its_token AND expiry > now());
END $$;

-- Name: forget_person(bigint); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.forget_person(whom bigint) RETURNS void
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$
BEGIN
    DELETE FROM public.person WHERE id = whom;
EXCEPTION WHEN foreign_key_violation THEN
    NULL; -- of another club
END $$;

-- Name: FUNCTION forget_person(whom bigint); Type: COMMENT; Schema: public; Owner: -

COMMENT ON FUNCTION public.forget_person(whom bigint) IS 'deletes a person of no club; of whom there is another, nothing';

-- Name: hives_named(text, integer); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.hives_named(prefix text, most integer) RETURNS TABLE(id bigint, exact boolean)
    LANGUAGE sql STABLE SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$
        SELECT h.id, lower(h.name) = lower(prefix) FROM public.hive h
         WHERE h.club_id = public.current_club()
           AND lower(h.name) ~>=~ lower(prefix) AND lower(h.name) ~<~ (lower(prefix) || chr(1114111))
         ORDER BY lower(h.name) USING ~<~, h.id LIMIT most $$;

-- Name: FUNCTION hives_named(prefix text, most integer); Type: COMMENT; Schema: public; Owner: -

COMMENT ON FUNCTION public.hives_named(prefix text, most integer) IS 'the hives of the present club whose name begins so, whatever its case; those with no more than that first';

-- Name: invitations_of(bigint); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.invitations_of(whom bigint) RETURNS TABLE(club_id bigint, club_name text, role text, invited_by text, created_at timestamp with time zone)
    LANGUAGE sql STABLE SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$ SELECT i.club_id, c.name, i.role, i.invited_by, i.created_at
            FROM public.invitation i JOIN public.club c ON c.id = i.club_id
           WHERE i.person_id = whom ORDER BY i.club_id $$;

-- Name: invited_people(); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.invited_people() RETURNS TABLE(id bigint, email text)
    LANGUAGE sql STABLE SECURITY DEFINER ROWS 5
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$ SELECT p.id, p.email FROM public.invitation i JOIN public.person p ON p.id = i.person_id WHERE i.club_id = public.current_club() $$;

-- Name: FUNCTION invited_people(); Type: COMMENT; Schema: public; Owner: -

COMMENT ON FUNCTION public.invited_people() IS 'whom the present club has invited';

-- Name: knows_token(bytea); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.knows_token(hash bytea) RETURNS boolean
    LANGUAGE sql STABLE SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$ SELECT EXISTS (SELECT FROM public.sign_in_token WHERE token_hash = hash) $$;

-- Name: link_of_token(bytea); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.link_of_token(hash bytea) RETURNS bigint
    LANGUAGE plpgsql STABLE SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$
BEGIN
    RETURN (SELECT id FROM public.calendar_link WHERE token_hash = hash AND club_id = public.current_club());
END $$;

-- Name: FUNCTION link_of_token(hash bytea); Type: COMMENT; Schema: public; Owner: -

COMMENT ON FUNCTION public.link_of_token(hash bytea) IS 'the calendar address of the present club with a token';

-- Name: mails_to_members(date); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.mails_to_members(since date) RETURNS TABLE(person_id bigint, on_day date, club_id bigint, free boolean, weekly boolean)
    LANGUAGE sql STABLE SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$ SELECT m.person_id, g.on_day, g.club_id, g.free, g.kind = 'escalation'
            FROM public.member mine
            JOIN public.member m ON m.person_id = mine.person_id
            JOIN public.message g ON g.club_id = m.club_id AND g.member_id = m.id
           WHERE mine.club_id = public.current_club() AND g.on_day >= since AND g.state IN ('owed', 'sent')
             AND g.kind NOT IN ('sign-in', 'invitation', 'new-address', 'old-address', 'reply', 'answer') $$;

-- Name: FUNCTION mails_to_members(since date); Type: COMMENT; Schema: public; Owner: -

COMMENT ON FUNCTION public.mails_to_members(since date) IS 'the days on which the people of a club were mailed, in whichever club: what one person is told a day has one limit';

-- Name: mark_refused(bigint, text, text); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.mark_refused(whom bigint, address text, reply text) RETURNS boolean
    LANGUAGE sql SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$
        UPDATE public.person SET refused_at = CASE WHEN lower(email) = lower(coalesce(address, email)) THEN now() ELSE refused_at END,
               refused_reply = CASE WHEN lower(email) = lower(coalesce(address, email)) THEN reply ELSE refused_reply END
         WHERE id = whom RETURNING true $$;

-- Name: FUNCTION mark_refused(whom bigint, address text, reply text); Type: COMMENT; Schema: public; Owner: -

COMMENT ON FUNCTION public.mark_refused(whom bigint, address text, reply text) IS 'notes that a mail server refused a person''s address; another one, or a former one, marks nothing';

-- Name: members_of_several(); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.members_of_several() RETURNS SETOF bigint
    LANGUAGE sql STABLE SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$ SELECT m.id FROM public.member m
           WHERE m.club_id = public.current_club()
             AND EXISTS (SELECT FROM public.member o WHERE o.person_id = m.person_id AND o.club_id <> m.club_id) $$;

-- Name: memberships(text); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.memberships(address text) RETURNS TABLE(person_id bigint, club_id bigint, club_name text, member_id bigint, role text, ended_sign_in bigint)
    LANGUAGE sql STABLE SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$ SELECT p.id, m.club_id, c.name, m.id, m.role, m.ended_sign_in
            FROM public.person p
            JOIN public.member m ON m.person_id = p.id
            JOIN public.club c ON c.id = m.club_id
           WHERE lower(p.email) = lower(address)
           ORDER BY m.club_id $$;

-- Name: memberships_of(bigint); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.memberships_of(whom bigint) RETURNS TABLE(person_id bigint, club_id bigint, club_name text, member_id bigint, role text, ended_sign_in bigint)
    LANGUAGE plpgsql STABLE SECURITY DEFINER ROWS 2
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$
BEGIN
    RETURN QUERY SELECT m.person_id, m.club_id, c.name, m.id, m.role, m.ended_sign_in
      FROM public.member m JOIN public.club c ON c.id = m.club_id WHERE m.person_id = whom ORDER BY m.club_id;
END $$;

-- Name: new_key(text); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.new_key(which text) RETURNS void
    LANGUAGE sql
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$ INSERT INTO public.secret (name, value)
          VALUES (which, sha256(uuid_send(gen_random_uuid()) || uuid_send(gen_random_uuid()) || uuid_send(gen_random_uuid())))
          ON CONFLICT (name) WHERE ends_at IS NULL DO NOTHING $$;

-- Name: FUNCTION new_key(which text); Type: COMMENT; Schema: public; Owner: -

COMMENT ON FUNCTION public.new_key(which text) IS '256 bits out of 366 random ones; nobody but functions of the owner''s calls it, and nobody chooses a key';

-- Name: new_sign_in(bigint, bytea, interval); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.new_sign_in(whom bigint, hash bytea, life interval) RETURNS void
    LANGUAGE sql SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$ INSERT INTO public.sign_in_token (token_hash, person_id, expires_at) VALUES (hash, whom, now() + life) $$;

-- Name: note_sign_in(bigint, text, text, text, text, text); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.note_sign_in(whom bigint, how text, from_browser text, from_system text, came_from text, ran_by text) RETURNS bigint
    LANGUAGE plpgsql
    SET search_path TO 'pg_catalog', 'pg_temp'
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

-- Name: FUNCTION note_sign_in(whom bigint, how text, from_browser text, from_system text, came_from text, ran_by text); Type: COMMENT; Schema: public; Owner: -

COMMENT ON FUNCTION public.note_sign_in(whom bigint, how text, from_browser text, from_system text, came_from text, ran_by text) IS 'what the functions that sign in have in common; nobody else calls it';

-- Name: passkey_by_credential(bytea); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.passkey_by_credential(its_credential bytea) RETURNS TABLE(id bigint, person_id bigint, credential bytea, data jsonb, label text, created_at timestamp with time zone, used_at timestamp with time zone)
    LANGUAGE sql STABLE SECURITY DEFINER ROWS 1
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$ SELECT k.id, k.person_id, k.credential, k.data, k.label, k.created_at, k.used_at FROM public.passkey k WHERE k.credential = its_credential $$;

-- Name: passkeys_of(bigint); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.passkeys_of(whom bigint) RETURNS TABLE(id bigint, person_id bigint, credential bytea, data jsonb, label text, created_at timestamp with time zone, used_at timestamp with time zone)
    LANGUAGE sql STABLE SECURITY DEFINER ROWS 3
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$ SELECT k.id, k.person_id, k.credential, k.data, k.label, k.created_at, k.used_at FROM public.passkey k WHERE k.person_id = whom ORDER BY k.id $$;

-- Name: person_by_email(text); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.person_by_email(address text) RETURNS TABLE(id bigint, email text, refused_at timestamp with time zone, refused_reply text)
    LANGUAGE sql STABLE SECURITY DEFINER ROWS 1
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$ SELECT p.id, p.email, p.refused_at, coalesce(p.refused_reply, '') FROM public.person p WHERE lower(p.email) = lower(address) $$;

-- Name: person_by_id(bigint); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.person_by_id(whom bigint) RETURNS TABLE(id bigint, email text, refused_at timestamp with time zone, refused_reply text)
    LANGUAGE sql STABLE SECURITY DEFINER ROWS 1
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$ SELECT p.id, p.email, p.refused_at, coalesce(p.refused_reply, '') FROM public.person p WHERE p.id = whom $$;

-- Name: person_data(bigint); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.person_data(whom bigint) RETURNS TABLE(email text, kept jsonb)
    LANGUAGE sql STABLE SECURITY DEFINER ROWS 1
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$
        SELECT p.email, jsonb_build_object('email', p.email, 'known_since', p.created_at, 'mail_refused_at', p.refused_at, 'mail_refused', p.refused_reply,
               'sign_ins', (SELECT coalesce(jsonb_agg(to_jsonb(i) - 'person_id' - 'id' ORDER BY i.id), '[]') FROM public.sign_in i WHERE i.person_id = p.id),
               'passkeys', (SELECT coalesce(jsonb_agg(jsonb_build_object('label', k.label, 'created_at', k.created_at, 'used_at', k.used_at) ORDER BY k.id), '[]') FROM public.passkey k WHERE k.person_id = p.id),
               'address_changes', (SELECT coalesce(jsonb_agg(jsonb_build_object('email', a.email, 'created_at', a.created_at) ORDER BY a.created_at), '[]') FROM public.address_change a WHERE a.person_id = p.id))
          FROM public.person p WHERE p.id = whom $$;

-- Name: FUNCTION person_data(whom bigint); Type: COMMENT; Schema: public; Owner: -

COMMENT ON FUNCTION public.person_data(whom bigint) IS 'what is kept about a person beside their clubs, without secrets';

-- Name: person_of_token(bytea); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.person_of_token(hash bytea) RETURNS TABLE(id bigint, email text, refused_at timestamp with time zone, refused_reply text)
    LANGUAGE sql STABLE SECURITY DEFINER ROWS 1
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$ SELECT p.id, p.email, p.refused_at, coalesce(p.refused_reply, '')
            FROM public.person p JOIN public.sign_in_token t ON t.person_id = p.id
           WHERE t.token_hash = hash AND t.used_at IS NULL AND t.expires_at > now() $$;

-- Name: river_job_state_in_bitmask(bit, public.river_job_state); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.river_job_state_in_bitmask(bitmask bit, state public.river_job_state) RETURNS boolean
    LANGUAGE sql IMMUTABLE
    AS $$
    SELECT CASE state
        WHEN 'available' THEN get_bit(bitmask, 7)
        WHEN 'cancelled' THEN get_bit(bitmask, 6)
        WHEN 'completed' THEN get_bit(bitmask, 5)
        WHEN 'discarded' THEN get_bit(bitmask, 4)
        WHEN 'pending'   THEN get_bit(bitmask, 3)
        WHEN 'retryable' THEN get_bit(bitmask, 2)
        WHEN 'running'   THEN get_bit(bitmask, 1)
        WHEN 'scheduled' THEN get_bit(bitmask, 0)
        ELSE 0
    END = 1;
$$;

-- Name: rotate_keys(interval); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.rotate_keys(keep interval) RETURNS void
    LANGUAGE plpgsql
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$
DECLARE
    names text[] := ARRAY(SELECT DISTINCT name FROM public.secret ORDER BY name);
BEGIN
    UPDATE public.secret SET ends_at = least(coalesce(ends_at, 'infinity'), now() + keep);
    DELETE FROM public.secret WHERE ends_at <= now();
    PERFORM public.new_key(n) FROM unnest(names) n;
    PERFORM pg_notify('pryday_feed', 'keys');
END $$;

-- Name: FUNCTION rotate_keys(keep interval); Type: COMMENT; Schema: public; Owner: -

COMMENT ON FUNCTION public.rotate_keys(keep interval) IS 'makes a new key of each name; those before it end in so long, or when they would have. For the owner alone';

-- Name: save_session(text, bytea, timestamp with time zone); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.save_session(its_token text, its_data bytea, until timestamp with time zone) RETURNS void
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$
BEGIN
    INSERT INTO public.sessions (token, data, expiry) VALUES (its_token, its_data, until)
    ON CONFLICT (token) DO UPDATE SET data = excluded.data, expiry = excluded.expiry;
END $$;

-- Name: served_since(); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.served_since() RETURNS bigint
    LANGUAGE sql IMMUTABLE
    AS $$SELECT 44::bigint$$;

-- Name: FUNCTION served_since(); Type: COMMENT; Schema: public; Owner: -

COMMENT ON FUNCTION public.served_since() IS 'the oldest number of the history whose program may serve this schema';

-- Name: service_counts(timestamp with time zone); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.service_counts(moment timestamp with time zone) RETURNS TABLE(what text, part text, value double precision)
    LANGUAGE sql STABLE SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    SET enable_seqscan TO 'on'
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

-- Name: FUNCTION service_counts(moment timestamp with time zone); Type: COMMENT; Schema: public; Owner: -

COMMENT ON FUNCTION public.service_counts(moment timestamp with time zone) IS 'how much there is of what, over all clubs: numbers, no names';

-- Name: sign_ins_of(bigint, interval); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.sign_ins_of(whom bigint, longest interval) RETURNS TABLE(id bigint, way text, browser text, system text, source text, began_at timestamp with time zone, seen_at timestamp with time zone)
    LANGUAGE sql STABLE SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$ SELECT i.id, i.way, i.browser, i.system, i.source, i.began_at, i.seen_at FROM public.sign_in i
           WHERE i.person_id = whom AND i.ended_at IS NULL AND i.began_at > now() - longest ORDER BY i.id DESC $$;

-- Name: sign_out(bigint, boolean, boolean); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.sign_out(whom bigint, with_passkeys boolean, with_calendars boolean) RETURNS void
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$
BEGIN
    PERFORM FROM public.club
      WHERE id IN (SELECT club_id FROM public.member WHERE person_id = whom) ORDER BY id FOR NO KEY UPDATE;
    UPDATE public.person SET buttons_ended = buttons_ended + 1, sessions_since = now() WHERE id = whom;
    UPDATE public.sign_in_token SET used_at = now() WHERE person_id = whom AND used_at IS NULL;
    UPDATE public.address_change SET used_at = now() WHERE person_id = whom AND NOT undo AND used_at IS NULL;
    DELETE FROM public.passkey WHERE person_id = whom AND with_passkeys;
    -- After what makes new ones: whoever used one of those meanwhile is waited for, and ended too.
    UPDATE public.sign_in SET ended_at = now() WHERE person_id = whom AND ended_at IS NULL;
    UPDATE public.calendar_link l SET revoked_at = now() FROM public.member m
     WHERE with_calendars AND m.person_id = whom AND l.club_id = m.club_id AND l.member_id = m.id AND l.revoked_at IS NULL;
    UPDATE public.club SET feed_version = feed_version + 1
     WHERE id IN (SELECT club_id FROM public.member WHERE person_id = whom);
    PERFORM pg_notify('pryday_feed', c.id || ' ' || c.feed_version) FROM public.club c
      WHERE c.id IN (SELECT club_id FROM public.member WHERE person_id = whom);
END $$;

-- Name: sign_out_member(bigint); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.sign_out_member(whom bigint) RETURNS void
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$
BEGIN
    UPDATE public.member m SET buttons_ended = buttons_ended + 1,
           ended_sign_in = greatest(ended_sign_in, coalesce((SELECT max(s.id) FROM public.sign_in s WHERE s.person_id = m.person_id), 0))
     WHERE m.club_id = public.current_club() AND m.id = whom;
    UPDATE public.sign_in_token t SET used_at = now() FROM public.member m
     WHERE m.club_id = public.current_club() AND m.id = whom AND t.person_id = m.person_id AND t.used_at IS NULL
       AND NOT EXISTS (SELECT FROM public.member o WHERE o.person_id = m.person_id AND o.club_id <> m.club_id);
END $$;

-- Name: signed_in(bigint, bigint); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.signed_in(whom bigint, by_sign_in bigint) RETURNS TABLE(id bigint, email text, refused_at timestamp with time zone, refused_reply text)
    LANGUAGE plpgsql SECURITY DEFINER ROWS 1
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$
BEGIN
    UPDATE public.sign_in i SET seen_at = now()
     WHERE i.id = by_sign_in AND i.person_id = whom AND i.ended_at IS NULL AND i.seen_at < now() - interval '1 hour';
    RETURN QUERY SELECT p.id, p.email, p.refused_at, coalesce(p.refused_reply, '')
      FROM public.person p JOIN public.sign_in i ON i.person_id = p.id WHERE p.id = whom AND i.id = by_sign_in AND i.ended_at IS NULL;
END $$;

-- Name: FUNCTION signed_in(whom bigint, by_sign_in bigint); Type: COMMENT; Schema: public; Owner: -

COMMENT ON FUNCTION public.signed_in(whom bigint, by_sign_in bigint) IS 'whom a sign-in that holds signs in; notes to the hour that it was seen';

-- Name: signing_keys(text); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.signing_keys(which text) RETURNS TABLE(value bytea, made_at timestamp with time zone, ends_at timestamp with time zone)
    LANGUAGE plpgsql SECURITY DEFINER ROWS 2
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$
BEGIN
    DELETE FROM public.secret s WHERE s.ends_at <= now();
    IF NOT EXISTS (SELECT FROM public.secret s WHERE s.name = which AND s.ends_at IS NULL) THEN
        PERFORM public.new_key(which);
    END IF;
    RETURN QUERY SELECT s.value, s.created_at, s.ends_at FROM public.secret s WHERE s.name = which ORDER BY s.ends_at DESC; -- the one without an end first
END $$;

-- Name: FUNCTION signing_keys(which text); Type: COMMENT; Schema: public; Owner: -

COMMENT ON FUNCTION public.signing_keys(which text) IS 'the keys of a name, the one that signs first, made where there is none; forgets those that ended';

-- Name: use_address_change(bytea, boolean, bytea, interval); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.use_address_change(hash bytea, back boolean, way_back bytea, life interval) RETURNS text
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
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

-- Name: FUNCTION use_address_change(hash bytea, back boolean, way_back bytea, life interval); Type: COMMENT; Schema: public; Owner: -

COMMENT ON FUNCTION public.use_address_change(hash bytea, back boolean, way_back bytea, life interval) IS 'gives a person the address of a token, with a way back, and returns the one before; nothing where the token was used or is too old';

-- Name: use_passkey(bigint, jsonb, text, text, text, text); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.use_passkey(which bigint, its_data jsonb, from_browser text, from_system text, came_from text, ran_by text) RETURNS TABLE(person_id bigint, sign_in bigint)
    LANGUAGE plpgsql SECURITY DEFINER ROWS 1
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$
BEGIN
    UPDATE public.passkey k SET used_at = now(), data = its_data WHERE k.id = which RETURNING k.person_id INTO person_id;
    IF FOUND THEN
        sign_in := public.note_sign_in(person_id, 'passkey', from_browser, from_system, came_from, ran_by);
        RETURN NEXT;
    END IF;
END $$;

-- Name: use_sign_in_token(bytea, text, text, text, text); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.use_sign_in_token(hash bytea, from_browser text, from_system text, came_from text, ran_by text) RETURNS TABLE(person_id bigint, sign_in bigint)
    LANGUAGE plpgsql SECURITY DEFINER ROWS 1
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$
BEGIN
    UPDATE public.sign_in_token t SET used_at = now()
     WHERE t.token_hash = hash AND t.used_at IS NULL AND t.expires_at > now() RETURNING t.person_id INTO person_id;
    IF FOUND THEN
        sign_in := public.note_sign_in(person_id, 'mail', from_browser, from_system, came_from, ran_by);
        RETURN NEXT;
    END IF;
END $$;

-- Name: withdraw_address(bigint); Type: FUNCTION; Schema: public; Owner: -

CREATE FUNCTION public.withdraw_address(whom bigint) RETURNS void
    LANGUAGE sql SECURITY DEFINER
    SET search_path TO 'pg_catalog', 'pg_temp'
    AS $$ UPDATE public.address_change SET used_at = now() WHERE person_id = whom AND NOT undo AND used_at IS NULL $$;

-- Name: address_change; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.address_change (
    token_hash bytea NOT NULL,
    person_id bigint NOT NULL,
    email text NOT NULL,
    created_at timestamp with time zone DEFAULT now() NOT NULL,
    expires_at timestamp with time zone NOT NULL,
    used_at timestamp with time zone,
    undo boolean DEFAULT false NOT NULL,
    CONSTRAINT address_change_email_check CHECK (((email ~~ '%_@_%'::text) AND (char_length(email) <= 320))),
    CONSTRAINT address_change_token_hash_check CHECK ((octet_length(token_hash) = 32)),
    CONSTRAINT lives_for_some_time CHECK ((expires_at > created_at))
);

-- Name: apiary; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.apiary (
    club_id bigint NOT NULL,
    id bigint NOT NULL,
    name text NOT NULL,
    latitude double precision NOT NULL,
    longitude double precision NOT NULL,
    elevation_m double precision NOT NULL,
    timezone text NOT NULL,
    travel_hours double precision,
    season_shift_days integer DEFAULT 0 NOT NULL,
    weekdays smallint DEFAULT 0 NOT NULL,
    access_notes text DEFAULT ''::text NOT NULL,
    planned_on date,
    planned_rules integer,
    trip text DEFAULT ''::text NOT NULL,
    region text DEFAULT ''::text NOT NULL,
    first_pollen date[] DEFAULT '{}'::date[] NOT NULL,
    supers_on date[] DEFAULT '{}'::date[] NOT NULL,
    supers_off date[] DEFAULT '{}'::date[] NOT NULL,
    feed_version bigint DEFAULT 0 NOT NULL,
    overdue integer DEFAULT 0 NOT NULL,
    overdue_since date,
    worst_odds double precision,
    rates_from bigint,
    CONSTRAINT apiary_elevation_m_check CHECK (((elevation_m >= ('-430'::integer)::double precision) AND (elevation_m <= (6000)::double precision))),
    CONSTRAINT apiary_first_pollen_check CHECK ((array_position(first_pollen, NULL::date) IS NULL)),
    CONSTRAINT apiary_latitude_check CHECK (((latitude >= ('-90'::integer)::double precision) AND (latitude <= (90)::double precision))),
    CONSTRAINT apiary_longitude_check CHECK (((longitude >= ('-180'::integer)::double precision) AND (longitude <= (180)::double precision))),
    CONSTRAINT apiary_name_check CHECK (((name <> ''::text) AND (char_length(name) <= 200))),
    CONSTRAINT apiary_overdue_check CHECK ((overdue >= 0)),
    CONSTRAINT apiary_region_check CHECK ((region = ANY (ARRAY[''::text, 'continental'::text, 'western-europe'::text, 'southern-europe'::text, 'southern-maritime'::text]))),
    CONSTRAINT apiary_season_shift_days_check CHECK (((season_shift_days >= '-183'::integer) AND (season_shift_days <= 183))),
    CONSTRAINT apiary_supers_off_check CHECK ((array_position(supers_off, NULL::date) IS NULL)),
    CONSTRAINT apiary_supers_on_check CHECK ((array_position(supers_on, NULL::date) IS NULL)),
    CONSTRAINT apiary_timezone_check CHECK ((timezone <> ''::text)),
    CONSTRAINT apiary_travel_hours_check CHECK (((travel_hours >= (0)::double precision) AND (travel_hours <= (24)::double precision))),
    CONSTRAINT apiary_trip_check CHECK ((length(trip) <= 200)),
    CONSTRAINT apiary_weekdays_check CHECK (((weekdays >= 0) AND (weekdays <= 127))),
    CONSTRAINT odds_are_a_chance CHECK (((worst_odds >= (0)::double precision) AND (worst_odds <= (1)::double precision))),
    CONSTRAINT overdue_since_a_day CHECK (((overdue = 0) = (overdue_since IS NULL))),
    CONSTRAINT planned_by_some_rules CHECK (((planned_on IS NULL) = (planned_rules IS NULL)))
);

-- Name: COLUMN apiary.planned_on; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.apiary.planned_on IS 'the day for which, and by planned_rules which rules, the visits were last planned';

-- Name: COLUMN apiary.trip; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.apiary.trip IS 'apiaries of one name are one journey; empty: those that are near one another are';

-- Name: COLUMN apiary.region; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.apiary.region IS 'whose stage dates hold here; empty: those of the region that the coordinates lie in';

-- Name: COLUMN apiary.first_pollen; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.apiary.first_pollen IS 'days on which the first good pollen came in, as keepers saw it; so are supers_on and supers_off';

-- Name: COLUMN apiary.feed_version; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.apiary.feed_version IS 'of the club, when entries of this apiary alone changed last';

-- Name: COLUMN apiary.overdue; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.apiary.overdue IS 'boxes past their due day, as it was planned last, that nothing keeps shut';

-- Name: COLUMN apiary.overdue_since; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.apiary.overdue_since IS 'the earliest of those days';

-- Name: COLUMN apiary.worst_odds; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.apiary.worst_odds IS 'of its box that is likeliest to be hard, on planned_on; empty where it has no box';

-- Name: COLUMN apiary.rates_from; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.apiary.rates_from IS 'sum of what the rates in due were worked out from; empty where they are to be worked out from the openings';

-- Name: apiary_id_seq; Type: SEQUENCE; Schema: public; Owner: -

ALTER TABLE public.apiary ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.apiary_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

-- Name: apiary_keeper; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.apiary_keeper (
    club_id bigint NOT NULL,
    apiary_id bigint NOT NULL,
    member_id bigint NOT NULL,
    "position" integer NOT NULL,
    CONSTRAINT apiary_keeper_position_check CHECK (("position" > 0))
);

-- Name: audit_chain; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.audit_chain (
    club_id bigint NOT NULL,
    number bigint DEFAULT 0 NOT NULL,
    hash bytea DEFAULT decode(repeat('00'::text, 32), 'hex'::text) NOT NULL,
    cleared bigint DEFAULT 0 NOT NULL,
    cleared_hash bytea DEFAULT decode(repeat('00'::text, 32), 'hex'::text) NOT NULL,
    CONSTRAINT cleared_in_order CHECK (((cleared >= 0) AND (cleared <= number))),
    CONSTRAINT hashes_are_whole CHECK (((octet_length(hash) = 32) AND (octet_length(cleared_hash) = 32)))
);

-- Name: audit_id_seq; Type: SEQUENCE; Schema: public; Owner: -

ALTER TABLE public.audit ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.audit_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

-- Name: box; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.box (
    club_id bigint NOT NULL,
    id bigint NOT NULL,
    name text NOT NULL,
    kind text NOT NULL,
    set_up_on date NOT NULL,
    retired_on date,
    repaired date[] DEFAULT '{}'::date[] NOT NULL,
    hive_id bigint,
    "position" integer,
    guessed_on date,
    guess_answered boolean DEFAULT false NOT NULL,
    CONSTRAINT answer_is_to_a_guess CHECK (((guessed_on IS NOT NULL) OR (NOT guess_answered))),
    CONSTRAINT box_kind_check CHECK ((kind <> ''::text)),
    CONSTRAINT box_name_check CHECK (((name <> ''::text) AND (char_length(name) <= 200))),
    CONSTRAINT box_position_check CHECK (("position" > 0)),
    CONSTRAINT guess_is_of_the_past CHECK ((guessed_on >= set_up_on)),
    CONSTRAINT repaired_on_days CHECK ((array_position(repaired, NULL::date) IS NULL)),
    CONSTRAINT retired_is_on_no_hive CHECK (((retired_on IS NULL) OR (hive_id IS NULL))),
    CONSTRAINT stands_in_a_stack CHECK (((hive_id IS NULL) = ("position" IS NULL)))
);

-- Name: box_id_seq; Type: SEQUENCE; Schema: public; Owner: -

ALTER TABLE public.box ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.box_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

-- Name: box_kind; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.box_kind (
    club_id bigint NOT NULL,
    name text NOT NULL,
    depth_mm double precision NOT NULL,
    empty_kg double precision NOT NULL,
    full_kg double precision NOT NULL,
    frames integer NOT NULL,
    width_mm double precision DEFAULT 0 NOT NULL,
    inside_mm double precision DEFAULT 0 NOT NULL,
    frame_mm double precision DEFAULT 0 NOT NULL,
    frame_length_mm double precision DEFAULT 0 NOT NULL,
    top_bar_mm double precision DEFAULT 0 NOT NULL,
    rest_mm double precision DEFAULT 0 NOT NULL,
    CONSTRAINT box_kind_name_check CHECK (((name <> ''::text) AND (char_length(name) <= 200))),
    CONSTRAINT holds_some_frames CHECK (((frames >= 0) AND (frames <= 60))),
    CONSTRAINT sizes_are_of_boxes CHECK ((((depth_mm >= (20)::double precision) AND (depth_mm <= (1000)::double precision)) AND ((width_mm >= (0)::double precision) AND (width_mm <= (2000)::double precision)) AND ((inside_mm >= (0)::double precision) AND (inside_mm <= (2000)::double precision)) AND ((frame_mm >= (0)::double precision) AND (frame_mm <= (2000)::double precision)) AND ((frame_length_mm >= (0)::double precision) AND (frame_length_mm <= (2000)::double precision)) AND ((top_bar_mm >= (0)::double precision) AND (top_bar_mm <= (2000)::double precision)) AND ((rest_mm >= (0)::double precision) AND (rest_mm <= (2000)::double precision)))),
    CONSTRAINT weights_are_of_boxes CHECK ((((empty_kg >= (0.1)::double precision) AND (empty_kg <= (200)::double precision)) AND ((full_kg >= empty_kg) AND (full_kg <= (200)::double precision))))
);

-- Name: box_place; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.box_place (
    club_id bigint NOT NULL,
    box_id bigint NOT NULL,
    n integer NOT NULL,
    from_day date NOT NULL,
    place text NOT NULL,
    hive_id bigint,
    "position" integer DEFAULT 0 NOT NULL,
    lent_to text DEFAULT ''::text NOT NULL,
    until_day date,
    CONSTRAINT box_place_n_check CHECK ((n > 0)),
    CONSTRAINT box_place_place_check CHECK ((place = ANY (ARRAY['hive'::text, 'store'::text, 'lent'::text, 'retired'::text]))),
    CONSTRAINT lent_to_someone CHECK (((place = 'lent'::text) OR ((lent_to = ''::text) AND (until_day IS NULL)))),
    CONSTRAINT on_some_hive CHECK (((place = 'hive'::text) = (hive_id IS NOT NULL))),
    CONSTRAINT place_in_the_stack CHECK (("position" >= 0))
);

-- Name: calendar_entry; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.calendar_entry (
    club_id bigint NOT NULL,
    link_id bigint NOT NULL,
    visit_id bigint NOT NULL,
    digest bytea NOT NULL,
    sequence integer NOT NULL,
    changed_at timestamp with time zone NOT NULL,
    CONSTRAINT calendar_entry_digest_check CHECK ((octet_length(digest) = 16)),
    CONSTRAINT calendar_entry_sequence_check CHECK ((sequence >= 0))
);

-- Name: COLUMN calendar_entry.digest; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.calendar_entry.digest IS 'of all that the entry says but its sequence and time of change';

-- Name: calendar_link; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.calendar_link (
    club_id bigint NOT NULL,
    id bigint NOT NULL,
    token_hash bytea NOT NULL,
    kind text NOT NULL,
    member_id bigint,
    apiary_id bigint,
    label text DEFAULT ''::text NOT NULL,
    confirmed_only boolean DEFAULT false NOT NULL,
    alarms boolean DEFAULT false NOT NULL,
    timed boolean DEFAULT false NOT NULL,
    far boolean DEFAULT false NOT NULL,
    exact_place boolean DEFAULT false NOT NULL,
    created_at timestamp with time zone DEFAULT now() NOT NULL,
    changed_at timestamp with time zone DEFAULT now() NOT NULL,
    replaced_at timestamp with time zone,
    revoked_at timestamp with time zone,
    fetched_at timestamp with time zone,
    fetched_by text DEFAULT ''::text NOT NULL,
    fetches bigint DEFAULT 0 NOT NULL,
    shown_version bigint DEFAULT 0 NOT NULL,
    language text DEFAULT ''::text NOT NULL,
    CONSTRAINT calendar_link_kind_check CHECK ((kind = ANY (ARRAY['member'::text, 'apiary'::text, 'club'::text]))),
    CONSTRAINT calendar_link_label_check CHECK ((char_length(label) <= 200)),
    CONSTRAINT calendar_link_token_hash_check CHECK ((octet_length(token_hash) = 32)),
    CONSTRAINT exact_place_on_own_link CHECK (((NOT exact_place) OR (kind = 'member'::text))),
    CONSTRAINT fetched_at_some_time CHECK (((fetches = 0) = (fetched_at IS NULL))),
    CONSTRAINT holds_for_somebody CHECK (((revoked_at IS NOT NULL) OR ((member_id IS NOT NULL) AND ((kind = 'apiary'::text) = (apiary_id IS NOT NULL))))),
    CONSTRAINT of_an_apiary CHECK (((apiary_id IS NULL) OR (kind = 'apiary'::text)))
);

-- Name: COLUMN calendar_link.member_id; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.calendar_link.member_id IS 'whose link it is, and for the kind member whose visits it shows; none for one that was left behind';

-- Name: COLUMN calendar_link.far; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.calendar_link.far IS 'shows tentative visits beyond eight weeks too';

-- Name: COLUMN calendar_link.replaced_at; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.calendar_link.replaced_at IS 'rotated: one last calendar says so, then it is revoked';

-- Name: COLUMN calendar_link.shown_version; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.calendar_link.shown_version IS 'the feed version of the club that calendar_entry is of';

-- Name: COLUMN calendar_link.language; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.calendar_link.language IS 'of whoever left it behind';

-- Name: calendar_link_id_seq; Type: SEQUENCE; Schema: public; Owner: -

ALTER TABLE public.calendar_link ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.calendar_link_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

-- Name: club; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.club (
    id bigint NOT NULL,
    name text NOT NULL,
    feed_version bigint DEFAULT 0 NOT NULL,
    created_at timestamp with time zone DEFAULT now() NOT NULL,
    feed_whole bigint DEFAULT 0 NOT NULL,
    CONSTRAINT club_name_check CHECK (((name <> ''::text) AND (char_length(name) <= 200)))
);

-- Name: COLUMN club.feed_version; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.club.feed_version IS 'rises last in every transaction that changes what a calendar shows';

-- Name: COLUMN club.feed_whole; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.club.feed_whole IS 'the feed version of the last change that more than the entries of certain apiaries may show';

-- Name: club_id_seq; Type: SEQUENCE; Schema: public; Owner: -

ALTER TABLE public.club ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.club_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

-- Name: colony_event; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.colony_event (
    club_id bigint NOT NULL,
    id uuid NOT NULL,
    hive_id bigint NOT NULL,
    n integer NOT NULL,
    on_day date NOT NULL,
    what text NOT NULL,
    other_hive_id bigint,
    from_apiary_id bigint,
    queen text DEFAULT ''::text NOT NULL,
    boxes bigint[] DEFAULT '{}'::bigint[] NOT NULL,
    positions integer[] DEFAULT '{}'::integer[] NOT NULL,
    listed boolean[] DEFAULT '{}'::boolean[] NOT NULL,
    openings integer[] DEFAULT '{}'::integer[] NOT NULL,
    under bigint[] DEFAULT '{}'::bigint[] NOT NULL,
    alone_from date,
    alone_until date,
    alone_for text DEFAULT ''::text NOT NULL,
    ended boolean DEFAULT false NOT NULL,
    whom text DEFAULT ''::text NOT NULL,
    note text DEFAULT ''::text NOT NULL,
    by_member bigint,
    recorded_at timestamp with time zone DEFAULT now() NOT NULL,
    alone_after text DEFAULT ''::text NOT NULL,
    CONSTRAINT alone_from_a_day CHECK (((alone_from IS NOT NULL) OR ((alone_until IS NULL) AND (alone_for = ''::text)))),
    CONSTRAINT colony_event_alone_after_check CHECK ((alone_after = ANY (ARRAY[''::text, 'swarmed'::text, 'requeened'::text, 'split'::text, 'united'::text, 'moved'::text, 'sold'::text, 'died'::text, 'new-colony'::text]))),
    CONSTRAINT colony_event_n_check CHECK ((n > 0)),
    CONSTRAINT colony_event_queen_check CHECK ((queen = ANY (ARRAY[''::text, 'unknown'::text, 'stays'::text, 'goes'::text]))),
    CONSTRAINT colony_event_what_check CHECK ((what = ANY (ARRAY['swarmed'::text, 'requeened'::text, 'split'::text, 'united'::text, 'moved'::text, 'sold'::text, 'died'::text, 'new-colony'::text]))),
    CONSTRAINT one_of_each_box CHECK (((cardinality(positions) = cardinality(boxes)) AND (cardinality(listed) = cardinality(boxes)) AND (cardinality(openings) = cardinality(boxes))))
);

-- Name: COLUMN colony_event.boxes; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.colony_event.boxes IS 'that went elsewhere with it, from positions of the stack; listed: they had rows in box_place before; openings: how many they had';

-- Name: COLUMN colony_event.under; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.colony_event.under IS 'the stack of the other hive before boxes came between or below it';

-- Name: decided; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.decided (
    club_id bigint NOT NULL,
    at timestamp with time zone NOT NULL,
    quiet_version bigint,
    quiet_until timestamp with time zone
);

-- Name: COLUMN decided.quiet_until; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.decided.quiet_until IS 'nothing new is owed before, as long as the club''s feed version is quiet_version; by the clock that says which day it is';

-- Name: due; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.due (
    club_id bigint NOT NULL,
    box_id bigint NOT NULL,
    apiary_id bigint NOT NULL,
    hive_id bigint NOT NULL,
    since date,
    last_opened date,
    last_hard smallint NOT NULL,
    odds_day date,
    due date,
    reason text NOT NULL,
    moved text DEFAULT ''::text NOT NULL,
    left_alone text DEFAULT ''::text NOT NULL,
    left_alone_words text DEFAULT ''::text NOT NULL,
    shut_on date,
    openings integer DEFAULT 0 NOT NULL,
    due_first date,
    due_last date,
    seal_since date,
    seal_left double precision DEFAULT 0 NOT NULL,
    seal_ages double precision[],
    rate_mean double precision DEFAULT 0 NOT NULL,
    rate_variance double precision DEFAULT 0 NOT NULL,
    rated_on date DEFAULT '2000-01-01'::date NOT NULL,
    left_alone_after text DEFAULT ''::text NOT NULL,
    last_tried date,
    listed_on date,
    CONSTRAINT due_left_alone_after_check CHECK ((left_alone_after = ANY (ARRAY[''::text, 'swarmed'::text, 'requeened'::text, 'split'::text, 'united'::text, 'moved'::text, 'sold'::text, 'died'::text, 'new-colony'::text]))),
    CONSTRAINT due_left_alone_key CHECK ((left_alone ~ '^[a-z-]*$'::text)),
    CONSTRAINT due_left_alone_words CHECK (((left_alone_words = ''::text) OR (left_alone <> ''::text))),
    CONSTRAINT due_moved_key CHECK ((moved ~ '^[a-z-]*$'::text)),
    CONSTRAINT due_openings_check CHECK ((openings >= 0)),
    CONSTRAINT last_hard_is_a_degree CHECK (((last_hard >= '-1'::integer) AND (last_hard <= 4))),
    CONSTRAINT numbers_are_finite CHECK ((((seal_left >= (0)::double precision) AND (seal_left <= ('1000000'::numeric)::double precision)) AND ((rate_mean >= ('-1000'::numeric)::double precision) AND (rate_mean <= ('1000'::numeric)::double precision)) AND ((rate_variance >= (0)::double precision) AND (rate_variance <= ('1000'::numeric)::double precision)))),
    CONSTRAINT reason_is_known CHECK ((reason = ANY (ARRAY[''::text, 'odds'::text, 'longest-wait'::text, 'required'::text, 'guess'::text, 'above'::text])))
);

-- Name: COLUMN due.due_first; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.due.due_first IS 'within these days it would be due, 8 times in 10, if it were known how fast the box seals';

-- Name: COLUMN due.seal_since; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.due.seal_since IS 'the day at which seal_left sealing days were in the seal; empty where nothing seals it';

-- Name: COLUMN due.seal_ages; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.due.seal_ages IS 'sealing days and how likely they are, by turns, of a seal that may have been broken without a record';

-- Name: COLUMN due.rated_on; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.due.rated_on IS 'the day from which rate_variance grows';

-- Name: COLUMN due.last_tried; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.due.last_tried IS 'the last opening, also one that left it shut';

-- Name: COLUMN due.listed_on; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.due.listed_on IS 'the last done visit that listed it, if it has no record of that';

-- Name: forecast; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.forecast (
    club_id bigint NOT NULL,
    opening_id uuid NOT NULL,
    made_on date NOT NULL,
    hard double precision NOT NULL,
    stuck double precision NOT NULL,
    model_hard double precision NOT NULL,
    model_stuck double precision NOT NULL,
    openings integer NOT NULL,
    rules_version integer,
    recalibrated_on date,
    CONSTRAINT forecast_check CHECK ((((stuck >= (0)::double precision) AND (stuck <= (1)::double precision)) AND (stuck <= hard))),
    CONSTRAINT forecast_check1 CHECK ((((model_stuck >= (0)::double precision) AND (model_stuck <= (1)::double precision)) AND (model_stuck <= model_hard))),
    CONSTRAINT forecast_hard_check CHECK (((hard >= (0)::double precision) AND (hard <= (1)::double precision))),
    CONSTRAINT forecast_model_hard_check CHECK (((model_hard >= (0)::double precision) AND (model_hard <= (1)::double precision))),
    CONSTRAINT forecast_openings_check CHECK ((openings >= 0)),
    CONSTRAINT forecast_rules_version_check CHECK ((rules_version > 0))
);

-- Name: COLUMN forecast.hard; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.forecast.hard IS 'odds of a hard opening as they were said';

-- Name: COLUMN forecast.model_hard; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.forecast.model_hard IS 'the same before the club''s recalibration';

-- Name: COLUMN forecast.openings; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.forecast.openings IS 'of the box that were on record';

-- Name: COLUMN forecast.recalibrated_on; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.forecast.recalibrated_on IS 'the day on which the recalibration that held was made';

-- Name: gap; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.gap (
    club_id bigint NOT NULL,
    opening_id uuid NOT NULL,
    n integer NOT NULL,
    at text NOT NULL,
    mm double precision NOT NULL,
    peg text DEFAULT ''::text NOT NULL,
    CONSTRAINT gap_mm_check CHECK (((mm >= (0)::double precision) AND (mm <= (100)::double precision))),
    CONSTRAINT gap_n_check CHECK ((n > 0)),
    CONSTRAINT gap_peg_check CHECK ((peg = ANY (ARRAY[''::text, 'thin-wont-go'::text, 'thin-goes'::text, 'thick-goes'::text]))),
    CONSTRAINT place_is_known CHECK ((at = ANY (ARRAY['above-frames'::text, 'between-frames'::text, 'end-bar-to-box'::text, 'frame-to-wall'::text, 'between-boxes'::text, 'below-frames'::text, 'entrance'::text, 'frame-lug'::text])))
);

-- Name: hive; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.hive (
    club_id bigint NOT NULL,
    id bigint NOT NULL,
    apiary_id bigint NOT NULL,
    name text NOT NULL,
    bee_space text DEFAULT ''::text NOT NULL,
    requeened date[] DEFAULT '{}'::date[] NOT NULL,
    retired_on date,
    CONSTRAINT hive_bee_space_check CHECK ((bee_space = ANY (ARRAY[''::text, 'top'::text, 'bottom'::text]))),
    CONSTRAINT hive_name_check CHECK (((name <> ''::text) AND (char_length(name) <= 200))),
    CONSTRAINT requeened_on_days CHECK ((array_position(requeened, NULL::date) IS NULL))
);

-- Name: hive_id_seq; Type: SEQUENCE; Schema: public; Owner: -

ALTER TABLE public.hive ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.hive_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

-- Name: inbound_mail; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.inbound_mail (
    club_id bigint NOT NULL,
    id bigint NOT NULL,
    digest bytea NOT NULL,
    purpose text NOT NULL,
    member_id bigint NOT NULL,
    message_id bigint,
    address text NOT NULL,
    sender text NOT NULL,
    raw bytea,
    received_at timestamp with time zone DEFAULT now() NOT NULL,
    outcome text DEFAULT ''::text NOT NULL,
    handled_at timestamp with time zone,
    detail text DEFAULT ''::text NOT NULL,
    visit_id bigint,
    answered_at timestamp with time zone,
    from_name text DEFAULT ''::text NOT NULL,
    from_email text DEFAULT ''::text NOT NULL,
    subject text DEFAULT ''::text NOT NULL,
    body text DEFAULT ''::text NOT NULL,
    CONSTRAINT handled_at_some_time CHECK (((outcome = ''::text) = (handled_at IS NULL))),
    CONSTRAINT inbound_mail_digest_check CHECK ((octet_length(digest) = 32)),
    CONSTRAINT inbound_mail_outcome_check CHECK ((outcome = ANY (ARRAY[''::text, 'returned'::text, 'going'::text, 'not-going'::text, 'no-change'::text, 'told'::text, 'forwarded'::text, 'kept'::text, 'automatic'::text]))),
    CONSTRAINT inbound_mail_purpose_check CHECK ((purpose = ANY (ARRAY['reply'::text, 'bounce'::text, 'calendar'::text]))),
    CONSTRAINT text_until_handled CHECK (((raw IS NOT NULL) OR (outcome <> ''::text)))
);

-- Name: COLUMN inbound_mail.address; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.inbound_mail.address IS 'the signed address that it came to';

-- Name: COLUMN inbound_mail.sender; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.inbound_mail.sender IS 'of the envelope; empty for the null sender';

-- Name: COLUMN inbound_mail.answered_at; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.inbound_mail.answered_at IS 'when a calendar says that its answer was given';

-- Name: inbound_mail_id_seq; Type: SEQUENCE; Schema: public; Owner: -

ALTER TABLE public.inbound_mail ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.inbound_mail_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

-- Name: invitation; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.invitation (
    club_id bigint NOT NULL,
    id bigint NOT NULL,
    person_id bigint NOT NULL,
    name text NOT NULL,
    role text NOT NULL,
    language text DEFAULT ''::text NOT NULL,
    units text DEFAULT ''::text NOT NULL,
    invited_by text DEFAULT ''::text NOT NULL,
    created_at timestamp with time zone DEFAULT now() NOT NULL,
    CONSTRAINT invitation_name_check CHECK (((name <> ''::text) AND (char_length(name) <= 200))),
    CONSTRAINT invitation_role_check CHECK ((role = ANY (ARRAY['organiser'::text, 'keeper'::text]))),
    CONSTRAINT invitation_units_check CHECK ((units = ANY (ARRAY[''::text, 'mm'::text, 'in'::text])))
);

-- Name: invitation_id_seq; Type: SEQUENCE; Schema: public; Owner: -

ALTER TABLE public.invitation ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.invitation_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

-- Name: leave_alone; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.leave_alone (
    club_id bigint NOT NULL,
    id bigint NOT NULL,
    kind text NOT NULL,
    hive_id bigint,
    apiary_id bigint,
    member_id bigint,
    from_day date NOT NULL,
    until_day date,
    reason text DEFAULT ''::text NOT NULL,
    after_what text DEFAULT ''::text NOT NULL,
    CONSTRAINT leave_alone_after_what_check CHECK ((after_what = ANY (ARRAY[''::text, 'swarmed'::text, 'requeened'::text, 'split'::text, 'united'::text, 'moved'::text, 'sold'::text, 'died'::text, 'new-colony'::text]))),
    CONSTRAINT leave_alone_check CHECK ((until_day >= from_day)),
    CONSTRAINT leave_alone_kind_check CHECK ((kind = ANY (ARRAY['leave-alone'::text, 'standstill'::text, 'no-go'::text]))),
    CONSTRAINT of_the_right_thing CHECK (((num_nonnulls(hive_id, apiary_id, member_id) = 1) AND ((kind = 'leave-alone'::text) = (hive_id IS NOT NULL)) AND ((kind <> 'standstill'::text) OR (apiary_id IS NOT NULL))))
);

-- Name: COLUMN leave_alone.after_what; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.leave_alone.after_what IS 'the step of the colony that the hive is left alone after; reason has the keeper''s own words';

-- Name: leave_alone_id_seq; Type: SEQUENCE; Schema: public; Owner: -

ALTER TABLE public.leave_alone ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.leave_alone_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

-- Name: mailbox; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.mailbox (
    name text NOT NULL,
    uid_validity bigint NOT NULL,
    uid bigint NOT NULL,
    read_at timestamp with time zone DEFAULT now() NOT NULL,
    CONSTRAINT mailbox_name_check CHECK ((name <> ''::text))
);

-- Name: COLUMN mailbox.uid; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.mailbox.uid IS 'the highest that was read, of this uid_validity (RFC 9051, 2.3.1.1)';

-- Name: member; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.member (
    club_id bigint NOT NULL,
    id bigint NOT NULL,
    person_id bigint NOT NULL,
    name text NOT NULL,
    role text NOT NULL,
    timezone text DEFAULT ''::text NOT NULL,
    language text DEFAULT ''::text NOT NULL,
    units text DEFAULT ''::text NOT NULL,
    days_before integer[],
    send_at smallint,
    mute text[] DEFAULT '{}'::text[] NOT NULL,
    paused_until date,
    visit_from smallint,
    visit_until smallint,
    created_at timestamp with time zone DEFAULT now() NOT NULL,
    long_mail boolean DEFAULT false NOT NULL,
    invitations boolean DEFAULT false NOT NULL,
    hours_a_day double precision,
    visits_a_week smallint,
    weekdays smallint DEFAULT 0 NOT NULL,
    phone text DEFAULT ''::text NOT NULL,
    buttons_ended integer DEFAULT 0 NOT NULL,
    ended_sign_in bigint DEFAULT 0 NOT NULL,
    CONSTRAINT days_before_are_days CHECK (((0 <= ALL (days_before)) AND (60 >= ALL (days_before)) AND (cardinality(days_before) <= 61) AND (array_position(days_before, NULL::integer) IS NULL))),
    CONSTRAINT hours_have_both_ends CHECK (((visit_from IS NULL) = (visit_until IS NULL))),
    CONSTRAINT member_hours_a_day_check CHECK (((hours_a_day >= (0.5)::double precision) AND (hours_a_day <= (24)::double precision))),
    CONSTRAINT member_name_check CHECK (((name <> ''::text) AND (char_length(name) <= 200))),
    CONSTRAINT member_phone_check CHECK ((char_length(phone) <= 40)),
    CONSTRAINT member_role_check CHECK ((role = ANY (ARRAY['organiser'::text, 'keeper'::text]))),
    CONSTRAINT member_send_at_check CHECK (((send_at >= 0) AND (send_at <= 1439))),
    CONSTRAINT member_units_check CHECK ((units = ANY (ARRAY[''::text, 'mm'::text, 'in'::text]))),
    CONSTRAINT member_visit_from_check CHECK (((visit_from >= 0) AND (visit_from <= 1439))),
    CONSTRAINT member_visit_until_check CHECK (((visit_until >= 0) AND (visit_until <= 1439))),
    CONSTRAINT member_visits_a_week_check CHECK (((visits_a_week >= 1) AND (visits_a_week <= 50))),
    CONSTRAINT member_weekdays_check CHECK (((weekdays >= 0) AND (weekdays <= 127))),
    CONSTRAINT muted_kinds_are_known CHECK ((mute <@ ARRAY['digest'::text, 'day'::text, 'overdue'::text, 'escalation'::text, 'moved'::text, 'ask'::text, 'sign-in'::text, 'invitation'::text, 'new-address'::text, 'old-address'::text, 'reply'::text, 'answer'::text]))
);

-- Name: COLUMN member.invitations; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.member.invitations IS 'visits are mailed as invitations that a calendar can answer';

-- Name: COLUMN member.weekdays; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.member.weekdays IS 'days on which the member can go: bit 0 Sunday; 0 what the rules say';

-- Name: member_id_seq; Type: SEQUENCE; Schema: public; Owner: -

ALTER TABLE public.member ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.member_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

-- Name: message; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.message (
    club_id bigint NOT NULL,
    id bigint NOT NULL,
    key text NOT NULL,
    kind text NOT NULL,
    member_id bigint,
    address text NOT NULL,
    on_day date NOT NULL,
    reason text DEFAULT ''::text NOT NULL,
    items jsonb DEFAULT '[]'::jsonb NOT NULL,
    message_id text NOT NULL,
    state text NOT NULL,
    owed_at timestamp with time zone DEFAULT now() NOT NULL,
    sent_at timestamp with time zone,
    closed_at timestamp with time zone,
    attempts integer DEFAULT 0 NOT NULL,
    last_attempt_at timestamp with time zone,
    reply text DEFAULT ''::text NOT NULL,
    free boolean DEFAULT false NOT NULL,
    returned text DEFAULT ''::text NOT NULL,
    returned_at timestamp with time zone,
    returned_reply text DEFAULT ''::text NOT NULL,
    CONSTRAINT closed_at_some_time CHECK (((state = ANY (ARRAY['passed-over'::text, 'refused'::text, 'given-up'::text])) = (closed_at IS NOT NULL))),
    CONSTRAINT items_are_a_list CHECK ((jsonb_typeof(items) = 'array'::text)),
    CONSTRAINT kind_is_known CHECK ((kind = ANY (ARRAY['digest'::text, 'day'::text, 'overdue'::text, 'escalation'::text, 'moved'::text, 'ask'::text, 'sign-in'::text, 'invitation'::text, 'new-address'::text, 'old-address'::text, 'reply'::text, 'answer'::text]))),
    CONSTRAINT message_attempts_check CHECK ((attempts >= 0)),
    CONSTRAINT message_key_check CHECK ((key <> ''::text)),
    CONSTRAINT message_returned_check CHECK ((returned = ANY (ARRAY[''::text, 'delayed'::text, 'unclear'::text, 'failed'::text]))),
    CONSTRAINT message_state_check CHECK ((state = ANY (ARRAY['owed'::text, 'sent'::text, 'passed-over'::text, 'refused'::text, 'given-up'::text]))),
    CONSTRAINT returned_at_some_time CHECK (((returned = ''::text) = (returned_at IS NULL))),
    CONSTRAINT sent_at_some_time CHECK (((state = 'sent'::text) = (sent_at IS NOT NULL))),
    CONSTRAINT tried_at_some_time CHECK (((attempts = 0) = (last_attempt_at IS NULL)))
);

-- Name: COLUMN message.free; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.message.free IS 'not counted in what a person gets in a week';

-- Name: message_id_seq; Type: SEQUENCE; Schema: public; Owner: -

ALTER TABLE public.message ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.message_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

-- Name: opening; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.opening (
    club_id bigint NOT NULL,
    id uuid NOT NULL,
    seq bigint NOT NULL,
    box_id bigint NOT NULL,
    on_day date NOT NULL,
    joint smallint NOT NULL,
    frames smallint NOT NULL,
    left_shut boolean DEFAULT false NOT NULL,
    scraped text NOT NULL,
    condition text[] DEFAULT '{}'::text[] NOT NULL,
    note text DEFAULT ''::text NOT NULL,
    by_member bigint,
    supersedes uuid,
    void boolean DEFAULT false NOT NULL,
    recorded_at timestamp with time zone DEFAULT now() NOT NULL,
    somebody_else boolean DEFAULT false NOT NULL,
    opened_by_member bigint,
    opened_by_name text DEFAULT ''::text NOT NULL,
    CONSTRAINT conditions_are_known CHECK ((condition <@ ARRAY['warped'::text, 'cracked'::text, 'rot'::text, 'corner-loose'::text, 'rest-worn'::text, 'lug-broken'::text, 'frame-broken'::text, 'frame-missing'::text, 'comb-damaged'::text, 'wax-moth'::text, 'hive-beetle'::text, 'lid-damaged'::text, 'floor-damaged'::text, 'excluder-bent'::text, 'mixed-makers'::text, 'brood-suspect'::text])),
    CONSTRAINT joint_is_a_degree CHECK ((((joint >= '-1'::integer) AND (joint <= 4)) AND ((joint >= 0) OR (NOT left_shut)))),
    CONSTRAINT opened_by_one CHECK (((somebody_else AND ((opened_by_member IS NULL) OR (opened_by_name = ''::text))) OR ((opened_by_member IS NULL) AND (opened_by_name = ''::text)))),
    CONSTRAINT opening_frames_check CHECK (((frames >= '-1'::integer) AND (frames <= 4))),
    CONSTRAINT opening_scraped_check CHECK ((scraped = ANY (ARRAY[''::text, 'all'::text, 'part'::text, 'none'::text]))),
    CONSTRAINT supersedes_another CHECK ((supersedes <> id)),
    CONSTRAINT takes_something_back CHECK (((NOT void) OR (supersedes IS NOT NULL)))
);

-- Name: COLUMN opening.by_member; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.opening.by_member IS 'who wrote it down, and opened the box unless somebody_else says otherwise';

-- Name: opening_seq_seq; Type: SEQUENCE; Schema: public; Owner: -

ALTER TABLE public.opening ALTER COLUMN seq ADD GENERATED ALWAYS AS IDENTITY (
    SEQUENCE NAME public.opening_seq_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

-- Name: passkey; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.passkey (
    id bigint NOT NULL,
    person_id bigint NOT NULL,
    credential bytea NOT NULL,
    data jsonb NOT NULL,
    label text DEFAULT ''::text NOT NULL,
    created_at timestamp with time zone DEFAULT now() NOT NULL,
    used_at timestamp with time zone
);

-- Name: passkey_id_seq; Type: SEQUENCE; Schema: public; Owner: -

ALTER TABLE public.passkey ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.passkey_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

-- Name: person; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.person (
    id bigint NOT NULL,
    email text NOT NULL,
    sessions_since timestamp with time zone DEFAULT '-infinity'::timestamp with time zone NOT NULL,
    refused_at timestamp with time zone,
    refused_reply text,
    created_at timestamp with time zone DEFAULT now() NOT NULL,
    buttons_ended integer DEFAULT 0 NOT NULL,
    CONSTRAINT person_email_check CHECK (((email ~~ '%_@_%'::text) AND (char_length(email) <= 320))),
    CONSTRAINT refusal_has_its_reply CHECK (((refused_at IS NULL) = (refused_reply IS NULL)))
);

-- Name: COLUMN person.sessions_since; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.person.sessions_since IS 'sessions begun before this are signed out';

-- Name: person_id_seq; Type: SEQUENCE; Schema: public; Owner: -

ALTER TABLE public.person ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.person_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

-- Name: photo; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.photo (
    club_id bigint NOT NULL,
    id uuid NOT NULL,
    box_id bigint NOT NULL,
    opening_id uuid NOT NULL,
    seq bigint NOT NULL,
    by_member bigint,
    added_at timestamp with time zone DEFAULT now() NOT NULL,
    removed_at timestamp with time zone,
    width smallint NOT NULL,
    height smallint NOT NULL,
    large bytea,
    small bytea,
    CONSTRAINT photo_height_check CHECK (((height >= 1) AND (height <= 1600))),
    CONSTRAINT photo_large_check CHECK (((octet_length(large) >= 1) AND (octet_length(large) <= 600000))),
    CONSTRAINT photo_small_check CHECK (((octet_length(small) >= 1) AND (octet_length(small) <= 50000))),
    CONSTRAINT photo_width_check CHECK (((width >= 1) AND (width <= 1600))),
    CONSTRAINT stands_with_pictures CHECK ((((large IS NULL) = (small IS NULL)) AND ((large IS NOT NULL) OR (removed_at IS NOT NULL))))
);
ALTER TABLE ONLY public.photo ALTER COLUMN large SET STORAGE EXTERNAL;
ALTER TABLE ONLY public.photo ALTER COLUMN small SET STORAGE EXTERNAL;

-- Name: COLUMN photo.large; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.photo.large IS 'a JPEG file that holds pixels alone; small is the same for lists';

-- Name: photo_seq_seq; Type: SEQUENCE; Schema: public; Owner: -

ALTER TABLE public.photo ALTER COLUMN seq ADD GENERATED ALWAYS AS IDENTITY (
    SEQUENCE NAME public.photo_seq_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

-- Name: recalibration; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.recalibration (
    club_id bigint NOT NULL,
    made_on date NOT NULL,
    openings integer NOT NULL,
    hard_intercept double precision NOT NULL,
    hard_slope double precision NOT NULL,
    stuck_intercept double precision NOT NULL,
    stuck_slope double precision NOT NULL,
    CONSTRAINT recalibration_hard_intercept_check CHECK (((hard_intercept >= ('-20'::integer)::double precision) AND (hard_intercept <= (20)::double precision))),
    CONSTRAINT recalibration_hard_slope_check CHECK (((hard_slope >= (0.25)::double precision) AND (hard_slope <= (4)::double precision))),
    CONSTRAINT recalibration_openings_check CHECK ((openings >= 0)),
    CONSTRAINT recalibration_stuck_intercept_check CHECK (((stuck_intercept >= ('-20'::integer)::double precision) AND (stuck_intercept <= (20)::double precision))),
    CONSTRAINT recalibration_stuck_slope_check CHECK (((stuck_slope >= (0.25)::double precision) AND (stuck_slope <= (4)::double precision)))
);

-- Name: COLUMN recalibration.openings; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.recalibration.openings IS 'that it was made of; 0 where the record is too short and nothing is corrected';

-- Name: rules; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.rules (
    club_id bigint NOT NULL,
    version integer NOT NULL,
    document jsonb NOT NULL,
    author_id bigint,
    note text DEFAULT ''::text NOT NULL,
    created_at timestamp with time zone DEFAULT now() NOT NULL,
    restores integer,
    CONSTRAINT document_is_an_object CHECK ((jsonb_typeof(document) = 'object'::text)),
    CONSTRAINT rules_check CHECK (((restores > 0) AND (restores < version))),
    CONSTRAINT rules_version_check CHECK ((version > 0))
);

-- Name: COLUMN rules.restores; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.rules.restores IS 'the last earlier version that had the same rules';

-- Name: secret; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.secret (
    name text NOT NULL,
    value bytea NOT NULL,
    created_at timestamp with time zone DEFAULT now() NOT NULL,
    id bigint NOT NULL,
    ends_at timestamp with time zone,
    CONSTRAINT secret_value_check CHECK ((octet_length(value) >= 32))
);

-- Name: COLUMN secret.ends_at; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.secret.ends_at IS 'until when what it signed is known again; empty for the one that signs';

-- Name: secret_id_seq; Type: SEQUENCE; Schema: public; Owner: -

ALTER TABLE public.secret ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.secret_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

-- Name: sessions; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.sessions (
    token text NOT NULL,
    data bytea NOT NULL,
    expiry timestamp with time zone NOT NULL
);

-- Name: sign_in; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.sign_in (
    id bigint NOT NULL,
    person_id bigint NOT NULL,
    way text NOT NULL,
    browser text DEFAULT ''::text NOT NULL,
    system text DEFAULT ''::text NOT NULL,
    source text DEFAULT ''::text NOT NULL,
    began_at timestamp with time zone DEFAULT now() NOT NULL,
    seen_at timestamp with time zone DEFAULT now() NOT NULL,
    ended_at timestamp with time zone,
    CONSTRAINT sign_in_browser_check CHECK ((char_length(browser) <= 60)),
    CONSTRAINT sign_in_source_check CHECK ((char_length(source) <= 60)),
    CONSTRAINT sign_in_system_check CHECK ((char_length(system) <= 60)),
    CONSTRAINT sign_in_way_check CHECK ((way = ANY (ARRAY['mail'::text, 'passkey'::text, 'set-up'::text, 'before'::text])))
);

-- Name: COLUMN sign_in.way; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.sign_in.way IS 'before: by a session of an earlier version, which was taken over';

-- Name: COLUMN sign_in.source; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.sign_in.source IS 'the address that it came from, of IPv6 its network';

-- Name: sign_in_id_seq; Type: SEQUENCE; Schema: public; Owner: -

ALTER TABLE public.sign_in ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.sign_in_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

-- Name: sign_in_token; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.sign_in_token (
    token_hash bytea NOT NULL,
    person_id bigint NOT NULL,
    created_at timestamp with time zone DEFAULT now() NOT NULL,
    expires_at timestamp with time zone NOT NULL,
    used_at timestamp with time zone,
    CONSTRAINT lives_for_some_time CHECK ((expires_at > created_at)),
    CONSTRAINT sign_in_token_token_hash_check CHECK ((octet_length(token_hash) = 32))
);

-- Name: told; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.told (
    club_id bigint NOT NULL,
    member_id bigint NOT NULL,
    visit_id bigint,
    about text NOT NULL,
    kind text NOT NULL,
    on_day date,
    told_on date NOT NULL,
    message_id bigint,
    apiary_id bigint,
    CONSTRAINT about_its_kind CHECK ((((about = ''::text) OR (about = kind)) OR ((apiary_id IS NOT NULL) AND (about = ((kind || '/'::text) || apiary_id))))),
    CONSTRAINT about_one_thing CHECK (((visit_id IS NULL) = (about <> ''::text))),
    CONSTRAINT kind_is_known CHECK ((kind = ANY (ARRAY['digest'::text, 'day'::text, 'overdue'::text, 'escalation'::text, 'moved'::text, 'ask'::text, 'sign-in'::text, 'invitation'::text, 'new-address'::text, 'old-address'::text, 'reply'::text, 'answer'::text])))
);

-- Name: upload; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.upload (
    club_id bigint NOT NULL,
    id uuid NOT NULL,
    by_member bigint NOT NULL,
    name text NOT NULL,
    tables bytea NOT NULL,
    choices jsonb NOT NULL,
    touched_at timestamp with time zone DEFAULT now() NOT NULL,
    CONSTRAINT upload_name_check CHECK ((char_length(name) <= 200)),
    CONSTRAINT upload_tables_check CHECK (((octet_length(tables) >= 1) AND (octet_length(tables) <= 16777216)))
);
ALTER TABLE ONLY public.upload ALTER COLUMN tables SET STORAGE EXTERNAL;

-- Name: COLUMN upload.tables; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.upload.tables IS 'rows of cells as JSON, compressed';

-- Name: visit; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.visit (
    club_id bigint NOT NULL,
    id bigint NOT NULL,
    uid text NOT NULL,
    apiary_id bigint NOT NULL,
    on_day date NOT NULL,
    status text NOT NULL,
    sequence integer DEFAULT 0 NOT NULL,
    pinned boolean DEFAULT false NOT NULL,
    duty text DEFAULT ''::text NOT NULL,
    first_seen date,
    cancelled_until date,
    changed_at timestamp with time zone DEFAULT now() NOT NULL,
    created_at timestamp with time zone DEFAULT now() NOT NULL,
    off_until date,
    off_from text DEFAULT ''::text NOT NULL,
    no_time boolean DEFAULT false NOT NULL,
    CONSTRAINT cancelled_for_a_while CHECK (((status = 'cancelled'::text) = (cancelled_until IS NOT NULL))),
    CONSTRAINT off_while_cancelled CHECK (((status = 'cancelled'::text) OR ((off_until IS NULL) AND (off_from = ''::text)))),
    CONSTRAINT visit_duty_check CHECK ((duty = ANY (ARRAY[''::text, 'opening'::text, 'visit'::text]))),
    CONSTRAINT visit_off_from_check CHECK ((off_from = ANY (ARRAY[''::text, 'tentative'::text, 'confirmed'::text]))),
    CONSTRAINT visit_sequence_check CHECK ((sequence >= 0)),
    CONSTRAINT visit_status_check CHECK ((status = ANY (ARRAY['tentative'::text, 'confirmed'::text, 'unanswered'::text, 'done'::text, 'missed'::text, 'cancelled'::text]))),
    CONSTRAINT visit_uid_check CHECK ((uid <> ''::text))
);

-- Name: COLUMN visit.first_seen; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.visit.first_seen IS 'the day on which people first saw it';

-- Name: COLUMN visit.cancelled_until; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.visit.cancelled_until IS 'calendars show the cancellation until this day';

-- Name: COLUMN visit.off_until; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.visit.off_until IS 'called off by a person: its boxes are not planned before this day';

-- Name: COLUMN visit.off_from; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.visit.off_from IS 'and the state to take it back to';

-- Name: COLUMN visit.no_time; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.visit.no_time IS 'nobody is asked to go, since those who could have promised all that they can give';

-- Name: visit_box; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.visit_box (
    club_id bigint NOT NULL,
    visit_id bigint NOT NULL,
    n integer NOT NULL,
    box_id bigint NOT NULL,
    due date,
    reason text NOT NULL,
    odds double precision NOT NULL,
    stuck double precision DEFAULT 0 NOT NULL,
    CONSTRAINT visit_box_n_check CHECK ((n > 0)),
    CONSTRAINT visit_box_odds_check CHECK (((odds >= (0)::double precision) AND (odds <= (1)::double precision))),
    CONSTRAINT visit_box_reason_check CHECK ((reason = ANY (ARRAY[''::text, 'odds'::text, 'longest-wait'::text, 'required'::text, 'guess'::text, 'above'::text]))),
    CONSTRAINT visit_box_stuck_check CHECK (((stuck >= (0)::double precision) AND (stuck <= (1)::double precision)))
);

-- Name: visit_id_seq; Type: SEQUENCE; Schema: public; Owner: -

ALTER TABLE public.visit ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.visit_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

-- Name: visit_member; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.visit_member (
    club_id bigint NOT NULL,
    visit_id bigint NOT NULL,
    member_id bigint NOT NULL,
    n integer NOT NULL,
    said text DEFAULT ''::text NOT NULL,
    CONSTRAINT visit_member_n_check CHECK ((n > 0)),
    CONSTRAINT visit_member_said_check CHECK ((said = ANY (ARRAY[''::text, 'going'::text, 'cannot'::text])))
);

-- Name: visit_move; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.visit_move (
    club_id bigint NOT NULL,
    visit_id bigint NOT NULL,
    rules_version integer NOT NULL,
    rules_before integer NOT NULL,
    was_day date NOT NULL,
    was_status text NOT NULL,
    was_sequence integer NOT NULL,
    on_day date NOT NULL,
    sequence integer NOT NULL,
    back text DEFAULT ''::text NOT NULL,
    moved_on date NOT NULL,
    CONSTRAINT visit_move_back_check CHECK ((back = ANY (ARRAY[''::text, 'back'::text, 'touched'::text, 'near'::text, 'anew'::text]))),
    CONSTRAINT visit_move_check CHECK (((rules_before > 0) AND (rules_before < rules_version))),
    CONSTRAINT visit_move_check1 CHECK ((sequence >= was_sequence)),
    CONSTRAINT visit_move_was_status_check CHECK ((was_status = ANY (ARRAY['tentative'::text, 'confirmed'::text, 'cancelled'::text])))
);

-- Name: COLUMN visit_move.rules_before; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.visit_move.rules_before IS 'the version by which the apiary was planned until then';

-- Name: COLUMN visit_move.sequence; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.visit_move.sequence IS 'of the visit as the change left it; it follows what planning alters about a visit that stays on its day';

-- Name: COLUMN visit_move.back; Type: COMMENT; Schema: public; Owner: -

COMMENT ON COLUMN public.visit_move.back IS 'what became of it where this version has the rules of an earlier one';

-- Name: visit_not_box; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.visit_not_box (
    club_id bigint NOT NULL,
    visit_id bigint NOT NULL,
    box_id bigint NOT NULL
);

-- Name: visit_not_opened; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.visit_not_opened (
    club_id bigint NOT NULL,
    visit_id bigint NOT NULL,
    box_id bigint NOT NULL
);

-- Name: visit_tick; Type: TABLE; Schema: public; Owner: -

CREATE TABLE public.visit_tick (
    club_id bigint NOT NULL,
    visit_id bigint NOT NULL,
    step text NOT NULL,
    hive_id bigint,
    box_id bigint,
    by_member bigint,
    on_day date NOT NULL,
    CONSTRAINT of_one_place CHECK (((hive_id IS NULL) OR (box_id IS NULL))),
    CONSTRAINT visit_tick_step_check CHECK ((step ~ '^[a-z][a-z-]{0,39}$'::text))
);

-- Name: address_change address_change_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.address_change
    ADD CONSTRAINT address_change_pkey PRIMARY KEY (token_hash);

-- Name: apiary apiary_club_id_name_key; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.apiary
    ADD CONSTRAINT apiary_club_id_name_key UNIQUE (club_id, name);

-- Name: apiary_keeper apiary_keeper_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.apiary_keeper
    ADD CONSTRAINT apiary_keeper_pkey PRIMARY KEY (apiary_id, member_id, club_id);

-- Name: apiary apiary_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.apiary
    ADD CONSTRAINT apiary_pkey PRIMARY KEY (id, club_id);

-- Name: audit_chain audit_chain_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.audit_chain
    ADD CONSTRAINT audit_chain_pkey PRIMARY KEY (club_id);

-- Name: audit audit_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.audit
    ADD CONSTRAINT audit_pkey PRIMARY KEY (club_id, id);

-- Name: box box_hive_id_position_key; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.box
    ADD CONSTRAINT box_hive_id_position_key UNIQUE (hive_id, "position") DEFERRABLE;

-- Name: box_kind box_kind_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.box_kind
    ADD CONSTRAINT box_kind_pkey PRIMARY KEY (club_id, name);

-- Name: box box_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.box
    ADD CONSTRAINT box_pkey PRIMARY KEY (id, club_id);

-- Name: box_place box_place_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.box_place
    ADD CONSTRAINT box_place_pkey PRIMARY KEY (box_id, n, club_id);

-- Name: calendar_entry calendar_entry_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.calendar_entry
    ADD CONSTRAINT calendar_entry_pkey PRIMARY KEY (club_id, link_id, visit_id);

-- Name: calendar_link calendar_link_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.calendar_link
    ADD CONSTRAINT calendar_link_pkey PRIMARY KEY (club_id, id);

-- Name: calendar_link calendar_link_token_hash_key; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.calendar_link
    ADD CONSTRAINT calendar_link_token_hash_key UNIQUE (token_hash);

-- Name: club club_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.club
    ADD CONSTRAINT club_pkey PRIMARY KEY (id);

-- Name: colony_event colony_event_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.colony_event
    ADD CONSTRAINT colony_event_pkey PRIMARY KEY (id, club_id);

-- Name: decided decided_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.decided
    ADD CONSTRAINT decided_pkey PRIMARY KEY (club_id);

-- Name: due due_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.due
    ADD CONSTRAINT due_pkey PRIMARY KEY (box_id, club_id);

-- Name: forecast forecast_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.forecast
    ADD CONSTRAINT forecast_pkey PRIMARY KEY (opening_id, club_id);

-- Name: gap gap_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.gap
    ADD CONSTRAINT gap_pkey PRIMARY KEY (opening_id, n, club_id);

-- Name: hive hive_apiary_id_name_key; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.hive
    ADD CONSTRAINT hive_apiary_id_name_key UNIQUE (apiary_id, name);

-- Name: hive hive_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.hive
    ADD CONSTRAINT hive_pkey PRIMARY KEY (id, club_id);

-- Name: inbound_mail inbound_mail_digest_club_id_key; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.inbound_mail
    ADD CONSTRAINT inbound_mail_digest_club_id_key UNIQUE (digest, club_id);

-- Name: inbound_mail inbound_mail_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.inbound_mail
    ADD CONSTRAINT inbound_mail_pkey PRIMARY KEY (club_id, id);

-- Name: invitation invitation_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.invitation
    ADD CONSTRAINT invitation_pkey PRIMARY KEY (person_id, club_id);

-- Name: leave_alone leave_alone_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.leave_alone
    ADD CONSTRAINT leave_alone_pkey PRIMARY KEY (id, club_id);

-- Name: mailbox mailbox_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.mailbox
    ADD CONSTRAINT mailbox_pkey PRIMARY KEY (name);

-- Name: member member_club_id_person_id_key; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.member
    ADD CONSTRAINT member_club_id_person_id_key UNIQUE (club_id, person_id);

-- Name: member member_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.member
    ADD CONSTRAINT member_pkey PRIMARY KEY (club_id, id);

-- Name: message message_club_id_key_key; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.message
    ADD CONSTRAINT message_club_id_key_key UNIQUE (club_id, key);

-- Name: message message_message_id_key; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.message
    ADD CONSTRAINT message_message_id_key UNIQUE (message_id);

-- Name: message message_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.message
    ADD CONSTRAINT message_pkey PRIMARY KEY (club_id, id);

-- Name: opening opening_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.opening
    ADD CONSTRAINT opening_pkey PRIMARY KEY (id, club_id);

-- Name: passkey passkey_credential_key; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.passkey
    ADD CONSTRAINT passkey_credential_key UNIQUE (credential);

-- Name: passkey passkey_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.passkey
    ADD CONSTRAINT passkey_pkey PRIMARY KEY (id);

-- Name: person person_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.person
    ADD CONSTRAINT person_pkey PRIMARY KEY (id);

-- Name: photo photo_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.photo
    ADD CONSTRAINT photo_pkey PRIMARY KEY (id, club_id);

-- Name: recalibration recalibration_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.recalibration
    ADD CONSTRAINT recalibration_pkey PRIMARY KEY (club_id, made_on);

-- Name: rules rules_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.rules
    ADD CONSTRAINT rules_pkey PRIMARY KEY (club_id, version);

-- Name: secret secret_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.secret
    ADD CONSTRAINT secret_pkey PRIMARY KEY (id);

-- Name: sessions sessions_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.sessions
    ADD CONSTRAINT sessions_pkey PRIMARY KEY (token);

-- Name: sign_in sign_in_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.sign_in
    ADD CONSTRAINT sign_in_pkey PRIMARY KEY (id);

-- Name: sign_in_token sign_in_token_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.sign_in_token
    ADD CONSTRAINT sign_in_token_pkey PRIMARY KEY (token_hash);

-- Name: told told_club_id_member_id_visit_id_about_key; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.told
    ADD CONSTRAINT told_club_id_member_id_visit_id_about_key UNIQUE NULLS NOT DISTINCT (club_id, member_id, visit_id, about);

-- Name: upload upload_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.upload
    ADD CONSTRAINT upload_pkey PRIMARY KEY (id, club_id);

-- Name: visit_box visit_box_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.visit_box
    ADD CONSTRAINT visit_box_pkey PRIMARY KEY (visit_id, n, club_id);

-- Name: visit_member visit_member_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.visit_member
    ADD CONSTRAINT visit_member_pkey PRIMARY KEY (visit_id, member_id, club_id);

-- Name: visit_move visit_move_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.visit_move
    ADD CONSTRAINT visit_move_pkey PRIMARY KEY (visit_id, rules_version, club_id);

-- Name: visit_not_box visit_not_box_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.visit_not_box
    ADD CONSTRAINT visit_not_box_pkey PRIMARY KEY (visit_id, box_id, club_id);

-- Name: visit_not_opened visit_not_opened_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.visit_not_opened
    ADD CONSTRAINT visit_not_opened_pkey PRIMARY KEY (visit_id, box_id, club_id);

-- Name: visit visit_pkey; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.visit
    ADD CONSTRAINT visit_pkey PRIMARY KEY (id, club_id);

-- Name: visit_tick visit_tick_visit_id_step_hive_id_box_id_club_id_key; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.visit_tick
    ADD CONSTRAINT visit_tick_visit_id_step_hive_id_box_id_club_id_key UNIQUE NULLS NOT DISTINCT (visit_id, step, hive_id, box_id, club_id);

-- Name: visit visit_uid_club_id_key; Type: CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.visit
    ADD CONSTRAINT visit_uid_club_id_key UNIQUE (uid, club_id);

-- Name: address_change_person; Type: INDEX; Schema: public; Owner: -

CREATE INDEX address_change_person ON public.address_change USING btree (person_id, created_at);

-- Name: address_change_time; Type: INDEX; Schema: public; Owner: -

CREATE INDEX address_change_time ON public.address_change USING btree (created_at);

-- Name: apiary_keeper_member; Type: INDEX; Schema: public; Owner: -

CREATE INDEX apiary_keeper_member ON public.apiary_keeper USING btree (member_id);

-- Name: audit_number; Type: INDEX; Schema: public; Owner: -

CREATE UNIQUE INDEX audit_number ON public.audit USING btree (club_id, number);

-- Name: audit_source; Type: INDEX; Schema: public; Owner: -

CREATE INDEX audit_source ON public.audit USING btree (club_id, at) WHERE (source <> ''::text);

-- Name: box_guessed; Type: INDEX; Schema: public; Owner: -

CREATE INDEX box_guessed ON public.box USING btree (hive_id) WHERE ((guessed_on IS NOT NULL) AND (NOT guess_answered));

-- Name: box_mark; Type: INDEX; Schema: public; Owner: -

CREATE INDEX box_mark ON public.box USING btree (lower(name) text_pattern_ops, club_id);

-- Name: box_place_hive; Type: INDEX; Schema: public; Owner: -

CREATE INDEX box_place_hive ON public.box_place USING btree (hive_id) WHERE (hive_id IS NOT NULL);

-- Name: box_spare; Type: INDEX; Schema: public; Owner: -

CREATE INDEX box_spare ON public.box USING btree (club_id) WHERE (hive_id IS NULL);

-- Name: calendar_entry_visit; Type: INDEX; Schema: public; Owner: -

CREATE INDEX calendar_entry_visit ON public.calendar_entry USING btree (club_id, visit_id);

-- Name: calendar_link_of_member; Type: INDEX; Schema: public; Owner: -

CREATE INDEX calendar_link_of_member ON public.calendar_link USING btree (member_id);

-- Name: colony_event_from; Type: INDEX; Schema: public; Owner: -

CREATE INDEX colony_event_from ON public.colony_event USING btree (from_apiary_id) WHERE (from_apiary_id IS NOT NULL);

-- Name: colony_event_hive; Type: INDEX; Schema: public; Owner: -

CREATE INDEX colony_event_hive ON public.colony_event USING btree (hive_id, on_day, n);

-- Name: colony_event_member; Type: INDEX; Schema: public; Owner: -

CREATE INDEX colony_event_member ON public.colony_event USING btree (by_member) WHERE (by_member IS NOT NULL);

-- Name: colony_event_other; Type: INDEX; Schema: public; Owner: -

CREATE INDEX colony_event_other ON public.colony_event USING btree (other_hive_id) WHERE (other_hive_id IS NOT NULL);

-- Name: due_apiary; Type: INDEX; Schema: public; Owner: -

CREATE INDEX due_apiary ON public.due USING btree (apiary_id);

-- Name: forecast_day; Type: INDEX; Schema: public; Owner: -

CREATE INDEX forecast_day ON public.forecast USING btree (club_id, made_on);

-- Name: hive_name; Type: INDEX; Schema: public; Owner: -

CREATE INDEX hive_name ON public.hive USING btree (lower(name) text_pattern_ops, club_id);

-- Name: inbound_mail_member; Type: INDEX; Schema: public; Owner: -

CREATE INDEX inbound_mail_member ON public.inbound_mail USING btree (member_id, received_at);

-- Name: inbound_mail_message; Type: INDEX; Schema: public; Owner: -

CREATE INDEX inbound_mail_message ON public.inbound_mail USING btree (message_id) WHERE (message_id IS NOT NULL);

-- Name: inbound_mail_visit; Type: INDEX; Schema: public; Owner: -

CREATE INDEX inbound_mail_visit ON public.inbound_mail USING btree (visit_id) WHERE (visit_id IS NOT NULL);

-- Name: inbound_mail_waiting; Type: INDEX; Schema: public; Owner: -

CREATE INDEX inbound_mail_waiting ON public.inbound_mail USING btree (id) WHERE (outcome = ''::text);

-- Name: invitation_id; Type: INDEX; Schema: public; Owner: -

CREATE INDEX invitation_id ON public.invitation USING btree (id);

-- Name: leave_alone_apiary; Type: INDEX; Schema: public; Owner: -

CREATE INDEX leave_alone_apiary ON public.leave_alone USING btree (apiary_id) WHERE (apiary_id IS NOT NULL);

-- Name: leave_alone_hive; Type: INDEX; Schema: public; Owner: -

CREATE INDEX leave_alone_hive ON public.leave_alone USING btree (hive_id) WHERE (hive_id IS NOT NULL);

-- Name: leave_alone_member; Type: INDEX; Schema: public; Owner: -

CREATE INDEX leave_alone_member ON public.leave_alone USING btree (member_id) WHERE (member_id IS NOT NULL);

-- Name: member_person; Type: INDEX; Schema: public; Owner: -

CREATE INDEX member_person ON public.member USING btree (person_id);

-- Name: message_day; Type: INDEX; Schema: public; Owner: -

CREATE INDEX message_day ON public.message USING btree (club_id, on_day);

-- Name: message_of_member; Type: INDEX; Schema: public; Owner: -

CREATE INDEX message_of_member ON public.message USING btree (member_id, id) WHERE (member_id IS NOT NULL);

-- Name: message_state; Type: INDEX; Schema: public; Owner: -

CREATE INDEX message_state ON public.message USING btree (club_id, state, id);

-- Name: one_key_signs; Type: INDEX; Schema: public; Owner: -

CREATE UNIQUE INDEX one_key_signs ON public.secret USING btree (name) WHERE (ends_at IS NULL);

-- Name: opening_box; Type: INDEX; Schema: public; Owner: -

CREATE INDEX opening_box ON public.opening USING btree (box_id, seq);

-- Name: opening_by; Type: INDEX; Schema: public; Owner: -

CREATE INDEX opening_by ON public.opening USING btree (by_member, seq) WHERE (by_member IS NOT NULL);

-- Name: opening_correction; Type: INDEX; Schema: public; Owner: -

CREATE INDEX opening_correction ON public.opening USING btree (box_id) WHERE (supersedes IS NOT NULL);

-- Name: opening_note; Type: INDEX; Schema: public; Owner: -

CREATE INDEX opening_note ON public.opening USING btree (club_id, on_day DESC, seq DESC) WHERE (note <> ''::text);

-- Name: opening_opened_by; Type: INDEX; Schema: public; Owner: -

CREATE INDEX opening_opened_by ON public.opening USING btree (opened_by_member) WHERE (opened_by_member IS NOT NULL);

-- Name: opening_superseded_once; Type: INDEX; Schema: public; Owner: -

CREATE UNIQUE INDEX opening_superseded_once ON public.opening USING btree (supersedes, club_id) WHERE (supersedes IS NOT NULL);

-- Name: passkey_person; Type: INDEX; Schema: public; Owner: -

CREATE INDEX passkey_person ON public.passkey USING btree (person_id);

-- Name: person_email; Type: INDEX; Schema: public; Owner: -

CREATE UNIQUE INDEX person_email ON public.person USING btree (lower(email));

-- Name: photo_box; Type: INDEX; Schema: public; Owner: -

CREATE INDEX photo_box ON public.photo USING btree (box_id, seq);

-- Name: photo_by; Type: INDEX; Schema: public; Owner: -

CREATE INDEX photo_by ON public.photo USING btree (by_member) WHERE (by_member IS NOT NULL);

-- Name: photo_opening; Type: INDEX; Schema: public; Owner: -

CREATE INDEX photo_opening ON public.photo USING btree (opening_id);

-- Name: photo_removed; Type: INDEX; Schema: public; Owner: -

CREATE INDEX photo_removed ON public.photo USING btree (removed_at) WHERE ((large IS NOT NULL) AND (removed_at IS NOT NULL));

-- Name: secret_name; Type: INDEX; Schema: public; Owner: -

CREATE INDEX secret_name ON public.secret USING btree (name);

-- Name: sessions_expiry; Type: INDEX; Schema: public; Owner: -

CREATE INDEX sessions_expiry ON public.sessions USING btree (expiry);

-- Name: sign_in_person; Type: INDEX; Schema: public; Owner: -

CREATE INDEX sign_in_person ON public.sign_in USING btree (person_id, id);

-- Name: sign_in_seen; Type: INDEX; Schema: public; Owner: -

CREATE INDEX sign_in_seen ON public.sign_in USING btree (seen_at);

-- Name: sign_in_token_person; Type: INDEX; Schema: public; Owner: -

CREATE INDEX sign_in_token_person ON public.sign_in_token USING btree (person_id, created_at);

-- Name: told_of_message; Type: INDEX; Schema: public; Owner: -

CREATE INDEX told_of_message ON public.told USING btree (message_id) WHERE (message_id IS NOT NULL);

-- Name: told_visit; Type: INDEX; Schema: public; Owner: -

CREATE INDEX told_visit ON public.told USING btree (visit_id) WHERE (visit_id IS NOT NULL);

-- Name: upload_by; Type: INDEX; Schema: public; Owner: -

CREATE INDEX upload_by ON public.upload USING btree (by_member);

-- Name: upload_touched; Type: INDEX; Schema: public; Owner: -

CREATE INDEX upload_touched ON public.upload USING btree (touched_at);

-- Name: visit_apiary; Type: INDEX; Schema: public; Owner: -

CREATE INDEX visit_apiary ON public.visit USING btree (apiary_id, on_day);

-- Name: visit_box_box; Type: INDEX; Schema: public; Owner: -

CREATE INDEX visit_box_box ON public.visit_box USING btree (box_id);

-- Name: visit_done; Type: INDEX; Schema: public; Owner: -

CREATE INDEX visit_done ON public.visit USING btree (club_id, on_day) WHERE (status = 'done'::text);

-- Name: visit_member_member; Type: INDEX; Schema: public; Owner: -

CREATE INDEX visit_member_member ON public.visit_member USING btree (member_id);

-- Name: visit_move_rules; Type: INDEX; Schema: public; Owner: -

CREATE INDEX visit_move_rules ON public.visit_move USING btree (club_id, rules_version);

-- Name: visit_not_box_box; Type: INDEX; Schema: public; Owner: -

CREATE INDEX visit_not_box_box ON public.visit_not_box USING btree (box_id);

-- Name: visit_not_opened_box; Type: INDEX; Schema: public; Owner: -

CREATE INDEX visit_not_opened_box ON public.visit_not_opened USING btree (box_id);

-- Name: visit_open; Type: INDEX; Schema: public; Owner: -

CREATE INDEX visit_open ON public.visit USING btree (club_id, on_day, apiary_id, id) INCLUDE (no_time) WHERE (status = ANY (ARRAY['tentative'::text, 'confirmed'::text]));

-- Name: visit_tick_box; Type: INDEX; Schema: public; Owner: -

CREATE INDEX visit_tick_box ON public.visit_tick USING btree (box_id) WHERE (box_id IS NOT NULL);

-- Name: visit_tick_hive; Type: INDEX; Schema: public; Owner: -

CREATE INDEX visit_tick_hive ON public.visit_tick USING btree (hive_id) WHERE (hive_id IS NOT NULL);

-- Name: visit_tick_member; Type: INDEX; Schema: public; Owner: -

CREATE INDEX visit_tick_member ON public.visit_tick USING btree (by_member) WHERE (by_member IS NOT NULL);

-- Name: audit chained; Type: TRIGGER; Schema: public; Owner: -

CREATE CONSTRAINT TRIGGER chained AFTER INSERT ON public.audit DEFERRABLE INITIALLY DEFERRED FOR EACH ROW WHEN ((new.number IS NULL)) EXECUTE FUNCTION public.chain_new_audit();

-- Name: address_change address_change_person_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.address_change
    ADD CONSTRAINT address_change_person_id_fkey FOREIGN KEY (person_id) REFERENCES public.person(id) ON DELETE CASCADE;

-- Name: apiary apiary_club_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.apiary
    ADD CONSTRAINT apiary_club_id_fkey FOREIGN KEY (club_id) REFERENCES public.club(id) ON DELETE CASCADE;

-- Name: apiary_keeper apiary_keeper_club_id_apiary_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.apiary_keeper
    ADD CONSTRAINT apiary_keeper_club_id_apiary_id_fkey FOREIGN KEY (club_id, apiary_id) REFERENCES public.apiary(club_id, id) ON DELETE CASCADE;

-- Name: apiary_keeper apiary_keeper_club_id_member_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.apiary_keeper
    ADD CONSTRAINT apiary_keeper_club_id_member_id_fkey FOREIGN KEY (club_id, member_id) REFERENCES public.member(club_id, id) ON DELETE CASCADE;

-- Name: audit_chain audit_chain_club_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.audit_chain
    ADD CONSTRAINT audit_chain_club_id_fkey FOREIGN KEY (club_id) REFERENCES public.club(id) ON DELETE CASCADE;

-- Name: audit audit_club_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.audit
    ADD CONSTRAINT audit_club_id_fkey FOREIGN KEY (club_id) REFERENCES public.club(id) ON DELETE CASCADE;

-- Name: box box_club_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.box
    ADD CONSTRAINT box_club_id_fkey FOREIGN KEY (club_id) REFERENCES public.club(id) ON DELETE CASCADE;

-- Name: box box_club_id_hive_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.box
    ADD CONSTRAINT box_club_id_hive_id_fkey FOREIGN KEY (club_id, hive_id) REFERENCES public.hive(club_id, id) ON DELETE CASCADE;

-- Name: box_kind box_kind_club_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.box_kind
    ADD CONSTRAINT box_kind_club_id_fkey FOREIGN KEY (club_id) REFERENCES public.club(id) ON DELETE CASCADE;

-- Name: box_place box_place_club_id_box_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.box_place
    ADD CONSTRAINT box_place_club_id_box_id_fkey FOREIGN KEY (club_id, box_id) REFERENCES public.box(club_id, id) ON DELETE CASCADE;

-- Name: box_place box_place_club_id_hive_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.box_place
    ADD CONSTRAINT box_place_club_id_hive_id_fkey FOREIGN KEY (club_id, hive_id) REFERENCES public.hive(club_id, id) ON DELETE CASCADE;

-- Name: calendar_entry calendar_entry_club_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.calendar_entry
    ADD CONSTRAINT calendar_entry_club_id_fkey FOREIGN KEY (club_id) REFERENCES public.club(id) ON DELETE CASCADE;

-- Name: calendar_entry calendar_entry_club_id_link_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.calendar_entry
    ADD CONSTRAINT calendar_entry_club_id_link_id_fkey FOREIGN KEY (club_id, link_id) REFERENCES public.calendar_link(club_id, id) ON DELETE CASCADE;

-- Name: calendar_entry calendar_entry_club_id_visit_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.calendar_entry
    ADD CONSTRAINT calendar_entry_club_id_visit_id_fkey FOREIGN KEY (club_id, visit_id) REFERENCES public.visit(club_id, id) ON DELETE CASCADE;

-- Name: calendar_link calendar_link_club_id_apiary_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.calendar_link
    ADD CONSTRAINT calendar_link_club_id_apiary_id_fkey FOREIGN KEY (club_id, apiary_id) REFERENCES public.apiary(club_id, id) ON DELETE CASCADE;

-- Name: calendar_link calendar_link_club_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.calendar_link
    ADD CONSTRAINT calendar_link_club_id_fkey FOREIGN KEY (club_id) REFERENCES public.club(id) ON DELETE CASCADE;

-- Name: calendar_link calendar_link_club_id_member_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.calendar_link
    ADD CONSTRAINT calendar_link_club_id_member_id_fkey FOREIGN KEY (club_id, member_id) REFERENCES public.member(club_id, id) ON DELETE CASCADE;

-- Name: colony_event colony_event_club_id_by_member_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.colony_event
    ADD CONSTRAINT colony_event_club_id_by_member_fkey FOREIGN KEY (club_id, by_member) REFERENCES public.member(club_id, id) ON DELETE SET NULL (by_member);

-- Name: colony_event colony_event_club_id_from_apiary_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.colony_event
    ADD CONSTRAINT colony_event_club_id_from_apiary_id_fkey FOREIGN KEY (club_id, from_apiary_id) REFERENCES public.apiary(club_id, id) ON DELETE SET NULL (from_apiary_id);

-- Name: colony_event colony_event_club_id_hive_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.colony_event
    ADD CONSTRAINT colony_event_club_id_hive_id_fkey FOREIGN KEY (club_id, hive_id) REFERENCES public.hive(club_id, id) ON DELETE CASCADE;

-- Name: colony_event colony_event_club_id_other_hive_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.colony_event
    ADD CONSTRAINT colony_event_club_id_other_hive_id_fkey FOREIGN KEY (club_id, other_hive_id) REFERENCES public.hive(club_id, id) ON DELETE SET NULL (other_hive_id);

-- Name: decided decided_club_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.decided
    ADD CONSTRAINT decided_club_id_fkey FOREIGN KEY (club_id) REFERENCES public.club(id) ON DELETE CASCADE;

-- Name: due due_club_id_box_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.due
    ADD CONSTRAINT due_club_id_box_id_fkey FOREIGN KEY (club_id, box_id) REFERENCES public.box(club_id, id) ON DELETE CASCADE;

-- Name: forecast forecast_club_id_opening_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.forecast
    ADD CONSTRAINT forecast_club_id_opening_id_fkey FOREIGN KEY (club_id, opening_id) REFERENCES public.opening(club_id, id) ON DELETE CASCADE;

-- Name: gap gap_club_id_opening_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.gap
    ADD CONSTRAINT gap_club_id_opening_id_fkey FOREIGN KEY (club_id, opening_id) REFERENCES public.opening(club_id, id) ON DELETE CASCADE;

-- Name: hive hive_club_id_apiary_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.hive
    ADD CONSTRAINT hive_club_id_apiary_id_fkey FOREIGN KEY (club_id, apiary_id) REFERENCES public.apiary(club_id, id) ON DELETE CASCADE;

-- Name: inbound_mail inbound_mail_club_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.inbound_mail
    ADD CONSTRAINT inbound_mail_club_id_fkey FOREIGN KEY (club_id) REFERENCES public.club(id) ON DELETE CASCADE;

-- Name: inbound_mail inbound_mail_club_id_member_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.inbound_mail
    ADD CONSTRAINT inbound_mail_club_id_member_id_fkey FOREIGN KEY (club_id, member_id) REFERENCES public.member(club_id, id) ON DELETE CASCADE;

-- Name: inbound_mail inbound_mail_club_id_message_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.inbound_mail
    ADD CONSTRAINT inbound_mail_club_id_message_id_fkey FOREIGN KEY (club_id, message_id) REFERENCES public.message(club_id, id) ON DELETE SET NULL (message_id);

-- Name: inbound_mail inbound_mail_club_id_visit_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.inbound_mail
    ADD CONSTRAINT inbound_mail_club_id_visit_id_fkey FOREIGN KEY (club_id, visit_id) REFERENCES public.visit(club_id, id) ON DELETE SET NULL (visit_id);

-- Name: invitation invitation_club_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.invitation
    ADD CONSTRAINT invitation_club_id_fkey FOREIGN KEY (club_id) REFERENCES public.club(id) ON DELETE CASCADE;

-- Name: invitation invitation_person_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.invitation
    ADD CONSTRAINT invitation_person_id_fkey FOREIGN KEY (person_id) REFERENCES public.person(id) ON DELETE CASCADE;

-- Name: leave_alone leave_alone_club_id_apiary_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.leave_alone
    ADD CONSTRAINT leave_alone_club_id_apiary_id_fkey FOREIGN KEY (club_id, apiary_id) REFERENCES public.apiary(club_id, id) ON DELETE CASCADE;

-- Name: leave_alone leave_alone_club_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.leave_alone
    ADD CONSTRAINT leave_alone_club_id_fkey FOREIGN KEY (club_id) REFERENCES public.club(id) ON DELETE CASCADE;

-- Name: leave_alone leave_alone_club_id_hive_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.leave_alone
    ADD CONSTRAINT leave_alone_club_id_hive_id_fkey FOREIGN KEY (club_id, hive_id) REFERENCES public.hive(club_id, id) ON DELETE CASCADE;

-- Name: leave_alone leave_alone_club_id_member_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.leave_alone
    ADD CONSTRAINT leave_alone_club_id_member_id_fkey FOREIGN KEY (club_id, member_id) REFERENCES public.member(club_id, id) ON DELETE CASCADE;

-- Name: member member_club_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.member
    ADD CONSTRAINT member_club_id_fkey FOREIGN KEY (club_id) REFERENCES public.club(id) ON DELETE CASCADE;

-- Name: member member_person_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.member
    ADD CONSTRAINT member_person_id_fkey FOREIGN KEY (person_id) REFERENCES public.person(id);

-- Name: message message_club_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.message
    ADD CONSTRAINT message_club_id_fkey FOREIGN KEY (club_id) REFERENCES public.club(id) ON DELETE CASCADE;

-- Name: message message_club_id_member_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.message
    ADD CONSTRAINT message_club_id_member_id_fkey FOREIGN KEY (club_id, member_id) REFERENCES public.member(club_id, id) ON DELETE SET NULL (member_id);

-- Name: opening opened_by_a_member; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.opening
    ADD CONSTRAINT opened_by_a_member FOREIGN KEY (club_id, opened_by_member) REFERENCES public.member(club_id, id) ON DELETE SET NULL (opened_by_member);

-- Name: opening opening_club_id_box_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.opening
    ADD CONSTRAINT opening_club_id_box_id_fkey FOREIGN KEY (club_id, box_id) REFERENCES public.box(club_id, id) ON DELETE CASCADE;

-- Name: opening opening_club_id_by_member_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.opening
    ADD CONSTRAINT opening_club_id_by_member_fkey FOREIGN KEY (club_id, by_member) REFERENCES public.member(club_id, id) ON DELETE SET NULL (by_member);

-- Name: opening opening_club_id_supersedes_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.opening
    ADD CONSTRAINT opening_club_id_supersedes_fkey FOREIGN KEY (club_id, supersedes) REFERENCES public.opening(club_id, id) ON DELETE CASCADE DEFERRABLE INITIALLY DEFERRED;

-- Name: passkey passkey_person_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.passkey
    ADD CONSTRAINT passkey_person_id_fkey FOREIGN KEY (person_id) REFERENCES public.person(id) ON DELETE CASCADE;

-- Name: photo photo_club_id_box_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.photo
    ADD CONSTRAINT photo_club_id_box_id_fkey FOREIGN KEY (club_id, box_id) REFERENCES public.box(club_id, id) ON DELETE CASCADE;

-- Name: photo photo_club_id_by_member_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.photo
    ADD CONSTRAINT photo_club_id_by_member_fkey FOREIGN KEY (club_id, by_member) REFERENCES public.member(club_id, id) ON DELETE SET NULL (by_member);

-- Name: photo photo_club_id_opening_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.photo
    ADD CONSTRAINT photo_club_id_opening_id_fkey FOREIGN KEY (club_id, opening_id) REFERENCES public.opening(club_id, id) ON DELETE CASCADE;

-- Name: recalibration recalibration_club_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.recalibration
    ADD CONSTRAINT recalibration_club_id_fkey FOREIGN KEY (club_id) REFERENCES public.club(id) ON DELETE CASCADE;

-- Name: rules rules_club_id_author_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.rules
    ADD CONSTRAINT rules_club_id_author_id_fkey FOREIGN KEY (club_id, author_id) REFERENCES public.member(club_id, id) ON DELETE SET NULL (author_id);

-- Name: rules rules_club_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.rules
    ADD CONSTRAINT rules_club_id_fkey FOREIGN KEY (club_id) REFERENCES public.club(id) ON DELETE CASCADE;

-- Name: sign_in sign_in_person_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.sign_in
    ADD CONSTRAINT sign_in_person_id_fkey FOREIGN KEY (person_id) REFERENCES public.person(id) ON DELETE CASCADE;

-- Name: sign_in_token sign_in_token_person_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.sign_in_token
    ADD CONSTRAINT sign_in_token_person_id_fkey FOREIGN KEY (person_id) REFERENCES public.person(id) ON DELETE CASCADE;

-- Name: told told_club_id_apiary_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.told
    ADD CONSTRAINT told_club_id_apiary_id_fkey FOREIGN KEY (club_id, apiary_id) REFERENCES public.apiary(club_id, id) ON DELETE CASCADE;

-- Name: told told_club_id_member_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.told
    ADD CONSTRAINT told_club_id_member_id_fkey FOREIGN KEY (club_id, member_id) REFERENCES public.member(club_id, id) ON DELETE CASCADE;

-- Name: told told_club_id_message_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.told
    ADD CONSTRAINT told_club_id_message_id_fkey FOREIGN KEY (club_id, message_id) REFERENCES public.message(club_id, id) ON DELETE SET NULL (message_id);

-- Name: told told_club_id_visit_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.told
    ADD CONSTRAINT told_club_id_visit_id_fkey FOREIGN KEY (club_id, visit_id) REFERENCES public.visit(club_id, id) ON DELETE CASCADE;

-- Name: upload upload_club_id_by_member_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.upload
    ADD CONSTRAINT upload_club_id_by_member_fkey FOREIGN KEY (club_id, by_member) REFERENCES public.member(club_id, id) ON DELETE CASCADE;

-- Name: upload upload_club_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.upload
    ADD CONSTRAINT upload_club_id_fkey FOREIGN KEY (club_id) REFERENCES public.club(id) ON DELETE CASCADE;

-- Name: visit_box visit_box_club_id_box_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.visit_box
    ADD CONSTRAINT visit_box_club_id_box_id_fkey FOREIGN KEY (club_id, box_id) REFERENCES public.box(club_id, id) ON DELETE CASCADE;

-- Name: visit_box visit_box_club_id_visit_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.visit_box
    ADD CONSTRAINT visit_box_club_id_visit_id_fkey FOREIGN KEY (club_id, visit_id) REFERENCES public.visit(club_id, id) ON DELETE CASCADE;

-- Name: visit visit_club_id_apiary_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.visit
    ADD CONSTRAINT visit_club_id_apiary_id_fkey FOREIGN KEY (club_id, apiary_id) REFERENCES public.apiary(club_id, id) ON DELETE CASCADE;

-- Name: visit_member visit_member_club_id_member_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.visit_member
    ADD CONSTRAINT visit_member_club_id_member_id_fkey FOREIGN KEY (club_id, member_id) REFERENCES public.member(club_id, id) ON DELETE CASCADE;

-- Name: visit_member visit_member_club_id_visit_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.visit_member
    ADD CONSTRAINT visit_member_club_id_visit_id_fkey FOREIGN KEY (club_id, visit_id) REFERENCES public.visit(club_id, id) ON DELETE CASCADE;

-- Name: visit_move visit_move_club_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.visit_move
    ADD CONSTRAINT visit_move_club_id_fkey FOREIGN KEY (club_id) REFERENCES public.club(id) ON DELETE CASCADE;

-- Name: visit_move visit_move_club_id_rules_version_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.visit_move
    ADD CONSTRAINT visit_move_club_id_rules_version_fkey FOREIGN KEY (club_id, rules_version) REFERENCES public.rules(club_id, version) ON DELETE CASCADE;

-- Name: visit_move visit_move_club_id_visit_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.visit_move
    ADD CONSTRAINT visit_move_club_id_visit_id_fkey FOREIGN KEY (club_id, visit_id) REFERENCES public.visit(club_id, id) ON DELETE CASCADE;

-- Name: visit_not_box visit_not_box_club_id_box_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.visit_not_box
    ADD CONSTRAINT visit_not_box_club_id_box_id_fkey FOREIGN KEY (club_id, box_id) REFERENCES public.box(club_id, id) ON DELETE CASCADE;

-- Name: visit_not_box visit_not_box_club_id_visit_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.visit_not_box
    ADD CONSTRAINT visit_not_box_club_id_visit_id_fkey FOREIGN KEY (club_id, visit_id) REFERENCES public.visit(club_id, id) ON DELETE CASCADE;

-- Name: visit_not_opened visit_not_opened_club_id_box_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.visit_not_opened
    ADD CONSTRAINT visit_not_opened_club_id_box_id_fkey FOREIGN KEY (club_id, box_id) REFERENCES public.box(club_id, id) ON DELETE CASCADE;

-- Name: visit_not_opened visit_not_opened_club_id_visit_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.visit_not_opened
    ADD CONSTRAINT visit_not_opened_club_id_visit_id_fkey FOREIGN KEY (club_id, visit_id) REFERENCES public.visit(club_id, id) ON DELETE CASCADE;

-- Name: visit_tick visit_tick_club_id_box_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.visit_tick
    ADD CONSTRAINT visit_tick_club_id_box_id_fkey FOREIGN KEY (club_id, box_id) REFERENCES public.box(club_id, id) ON DELETE CASCADE;

-- Name: visit_tick visit_tick_club_id_by_member_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.visit_tick
    ADD CONSTRAINT visit_tick_club_id_by_member_fkey FOREIGN KEY (club_id, by_member) REFERENCES public.member(club_id, id) ON DELETE SET NULL (by_member);

-- Name: visit_tick visit_tick_club_id_hive_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.visit_tick
    ADD CONSTRAINT visit_tick_club_id_hive_id_fkey FOREIGN KEY (club_id, hive_id) REFERENCES public.hive(club_id, id) ON DELETE CASCADE;

-- Name: visit_tick visit_tick_club_id_visit_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -

ALTER TABLE ONLY public.visit_tick
    ADD CONSTRAINT visit_tick_club_id_visit_id_fkey FOREIGN KEY (club_id, visit_id) REFERENCES public.visit(club_id, id) ON DELETE CASCADE;

-- Name: apiary; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.apiary ENABLE ROW LEVEL SECURITY;

-- Name: apiary_keeper; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.apiary_keeper ENABLE ROW LEVEL SECURITY;

-- Name: audit; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.audit ENABLE ROW LEVEL SECURITY;

-- Name: audit_chain; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.audit_chain ENABLE ROW LEVEL SECURITY;

-- Name: box; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.box ENABLE ROW LEVEL SECURITY;

-- Name: box_kind; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.box_kind ENABLE ROW LEVEL SECURITY;

-- Name: box_place; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.box_place ENABLE ROW LEVEL SECURITY;

-- Name: calendar_entry; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.calendar_entry ENABLE ROW LEVEL SECURITY;

-- Name: calendar_link; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.calendar_link ENABLE ROW LEVEL SECURITY;

-- Name: club; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.club ENABLE ROW LEVEL SECURITY;

-- Name: colony_event; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.colony_event ENABLE ROW LEVEL SECURITY;

-- Name: decided; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.decided ENABLE ROW LEVEL SECURITY;

-- Name: due; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.due ENABLE ROW LEVEL SECURITY;

-- Name: forecast; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.forecast ENABLE ROW LEVEL SECURITY;

-- Name: gap; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.gap ENABLE ROW LEVEL SECURITY;

-- Name: hive; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.hive ENABLE ROW LEVEL SECURITY;

-- Name: inbound_mail; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.inbound_mail ENABLE ROW LEVEL SECURITY;

-- Name: invitation; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.invitation ENABLE ROW LEVEL SECURITY;

-- Name: leave_alone; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.leave_alone ENABLE ROW LEVEL SECURITY;

-- Name: member; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.member ENABLE ROW LEVEL SECURITY;

-- Name: message; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.message ENABLE ROW LEVEL SECURITY;

-- Name: apiary one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.apiary USING ((club_id = public.current_club()));

-- Name: apiary_keeper one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.apiary_keeper USING ((club_id = public.current_club()));

-- Name: audit one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.audit USING ((club_id = public.current_club()));

-- Name: audit_chain one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.audit_chain FOR SELECT USING ((club_id = public.current_club()));

-- Name: box one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.box USING ((club_id = public.current_club()));

-- Name: box_kind one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.box_kind USING ((club_id = public.current_club()));

-- Name: box_place one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.box_place USING ((club_id = public.current_club()));

-- Name: calendar_entry one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.calendar_entry USING ((club_id = public.current_club()));

-- Name: calendar_link one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.calendar_link USING ((club_id = public.current_club()));

-- Name: club one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.club USING ((id = public.current_club()));

-- Name: colony_event one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.colony_event USING ((club_id = public.current_club()));

-- Name: decided one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.decided USING ((club_id = public.current_club()));

-- Name: due one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.due USING ((club_id = public.current_club()));

-- Name: forecast one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.forecast USING ((club_id = public.current_club()));

-- Name: gap one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.gap USING ((club_id = public.current_club()));

-- Name: hive one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.hive USING ((club_id = public.current_club()));

-- Name: inbound_mail one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.inbound_mail USING ((club_id = public.current_club()));

-- Name: invitation one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.invitation USING ((club_id = public.current_club()));

-- Name: leave_alone one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.leave_alone USING ((club_id = public.current_club()));

-- Name: member one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.member USING ((club_id = public.current_club()));

-- Name: message one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.message USING ((club_id = public.current_club()));

-- Name: opening one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.opening USING ((club_id = public.current_club()));

-- Name: photo one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.photo USING ((club_id = public.current_club()));

-- Name: recalibration one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.recalibration USING ((club_id = public.current_club()));

-- Name: rules one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.rules USING ((club_id = public.current_club()));

-- Name: told one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.told USING ((club_id = public.current_club()));

-- Name: upload one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.upload USING ((club_id = public.current_club()));

-- Name: visit one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.visit USING ((club_id = public.current_club()));

-- Name: visit_box one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.visit_box USING ((club_id = public.current_club()));

-- Name: visit_member one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.visit_member USING ((club_id = public.current_club()));

-- Name: visit_move one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.visit_move USING ((club_id = public.current_club()));

-- Name: visit_not_box one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.visit_not_box USING ((club_id = public.current_club()));

-- Name: visit_not_opened one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.visit_not_opened USING ((club_id = public.current_club()));

-- Name: visit_tick one_club; Type: POLICY; Schema: public; Owner: -

CREATE POLICY one_club ON public.visit_tick USING ((club_id = public.current_club()));

-- Name: opening; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.opening ENABLE ROW LEVEL SECURITY;

-- Name: photo; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.photo ENABLE ROW LEVEL SECURITY;

-- Name: recalibration; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.recalibration ENABLE ROW LEVEL SECURITY;

-- Name: rules; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.rules ENABLE ROW LEVEL SECURITY;

-- Name: told; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.told ENABLE ROW LEVEL SECURITY;

-- Name: upload; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.upload ENABLE ROW LEVEL SECURITY;

-- Name: visit; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.visit ENABLE ROW LEVEL SECURITY;

-- Name: visit_box; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.visit_box ENABLE ROW LEVEL SECURITY;

-- Name: visit_member; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.visit_member ENABLE ROW LEVEL SECURITY;

-- Name: visit_move; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.visit_move ENABLE ROW LEVEL SECURITY;

-- Name: visit_not_box; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.visit_not_box ENABLE ROW LEVEL SECURITY;

-- Name: visit_not_opened; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.visit_not_opened ENABLE ROW LEVEL SECURITY;

-- Name: visit_tick; Type: ROW SECURITY; Schema: public; Owner: -

ALTER TABLE public.visit_tick ENABLE ROW LEVEL SECURITY;

-- Name: SCHEMA public; Type: ACL; Schema: -; Owner: -

GRANT USAGE ON SCHEMA public TO pryday_app;

-- Name: FUNCTION add_passkey(whom bigint, its_credential bytea, its_data jsonb, its_label text, ran_by text, came_from text); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.add_passkey(whom bigint, its_credential bytea, its_data jsonb, its_label text, ran_by text, came_from text) FROM PUBLIC;
GRANT ALL ON FUNCTION public.add_passkey(whom bigint, its_credential bytea, its_data jsonb, its_label text, ran_by text, came_from text) TO pryday_app;

-- Name: FUNCTION address_change_of(hash bytea); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.address_change_of(hash bytea) FROM PUBLIC;
GRANT ALL ON FUNCTION public.address_change_of(hash bytea) TO pryday_app;

-- Name: FUNCTION ask_address(whom bigint, address text, hash bytea, life interval, an_hour integer, a_day integer, of_it_a_day integer); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.ask_address(whom bigint, address text, hash bytea, life interval, an_hour integer, a_day integer, of_it_a_day integer) FROM PUBLIC;
GRANT ALL ON FUNCTION public.ask_address(whom bigint, address text, hash bytea, life interval, an_hour integer, a_day integer, of_it_a_day integer) TO pryday_app;

-- Name: FUNCTION asked_address(whom bigint); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.asked_address(whom bigint) FROM PUBLIC;
GRANT ALL ON FUNCTION public.asked_address(whom bigint) TO pryday_app;

-- Name: TABLE audit; Type: ACL; Schema: public; Owner: -

GRANT SELECT ON TABLE public.audit TO pryday_app;

-- Name: COLUMN audit.club_id; Type: ACL; Schema: public; Owner: -

GRANT INSERT(club_id) ON TABLE public.audit TO pryday_app;

-- Name: COLUMN audit.member_id; Type: ACL; Schema: public; Owner: -

GRANT INSERT(member_id) ON TABLE public.audit TO pryday_app;

-- Name: COLUMN audit.action; Type: ACL; Schema: public; Owner: -

GRANT INSERT(action) ON TABLE public.audit TO pryday_app;

-- Name: COLUMN audit.subject; Type: ACL; Schema: public; Owner: -

GRANT INSERT(subject) ON TABLE public.audit TO pryday_app;

-- Name: COLUMN audit.detail; Type: ACL; Schema: public; Owner: -

GRANT INSERT(detail) ON TABLE public.audit TO pryday_app;

-- Name: COLUMN audit.command; Type: ACL; Schema: public; Owner: -

GRANT INSERT(command) ON TABLE public.audit TO pryday_app;

-- Name: COLUMN audit.personal; Type: ACL; Schema: public; Owner: -

GRANT INSERT(personal) ON TABLE public.audit TO pryday_app;

-- Name: COLUMN audit.source; Type: ACL; Schema: public; Owner: -

GRANT INSERT(source) ON TABLE public.audit TO pryday_app;

-- Name: FUNCTION audit_person(whom bigint, deed text, ran_by text, came_from text); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.audit_person(whom bigint, deed text, ran_by text, came_from text) FROM PUBLIC;
GRANT ALL ON FUNCTION public.audit_person(whom bigint, deed text, ran_by text, came_from text) TO pryday_app;

-- Name: FUNCTION begin_sign_in(whom bigint, began_before timestamp with time zone, how text, from_browser text, from_system text, came_from text, ran_by text); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.begin_sign_in(whom bigint, began_before timestamp with time zone, how text, from_browser text, from_system text, came_from text, ran_by text) FROM PUBLIC;
GRANT ALL ON FUNCTION public.begin_sign_in(whom bigint, began_before timestamp with time zone, how text, from_browser text, from_system text, came_from text, ran_by text) TO pryday_app;

-- Name: FUNCTION belongs_elsewhere(whom bigint); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.belongs_elsewhere(whom bigint) FROM PUBLIC;
GRANT ALL ON FUNCTION public.belongs_elsewhere(whom bigint) TO pryday_app;

-- Name: FUNCTION boxes_marked(prefix text, most integer); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.boxes_marked(prefix text, most integer) FROM PUBLIC;
GRANT ALL ON FUNCTION public.boxes_marked(prefix text, most integer) TO pryday_app;

-- Name: FUNCTION chain_audit(club bigint, entry bigint); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.chain_audit(club bigint, entry bigint) FROM PUBLIC;

-- Name: FUNCTION clear_audit(most integer); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.clear_audit(most integer) FROM PUBLIC;
GRANT ALL ON FUNCTION public.clear_audit(most integer) TO pryday_app;

-- Name: FUNCTION clear_audit_sources(most integer); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.clear_audit_sources(most integer) FROM PUBLIC;
GRANT ALL ON FUNCTION public.clear_audit_sources(most integer) TO pryday_app;

-- Name: FUNCTION clear_refused(whom bigint); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.clear_refused(whom bigint) FROM PUBLIC;
GRANT ALL ON FUNCTION public.clear_refused(whom bigint) TO pryday_app;

-- Name: FUNCTION clear_sessions(); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.clear_sessions() FROM PUBLIC;
GRANT ALL ON FUNCTION public.clear_sessions() TO pryday_app;

-- Name: FUNCTION clear_sign_ins(most integer); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.clear_sign_ins(most integer) FROM PUBLIC;
GRANT ALL ON FUNCTION public.clear_sign_ins(most integer) TO pryday_app;

-- Name: FUNCTION clear_tokens(most integer); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.clear_tokens(most integer) FROM PUBLIC;
GRANT ALL ON FUNCTION public.clear_tokens(most integer) TO pryday_app;

-- Name: FUNCTION club_ids(); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.club_ids() FROM PUBLIC;
GRANT ALL ON FUNCTION public.club_ids() TO pryday_app;

-- Name: FUNCTION club_of_link(hash bytea); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.club_of_link(hash bytea) FROM PUBLIC;
GRANT ALL ON FUNCTION public.club_of_link(hash bytea) TO pryday_app;

-- Name: FUNCTION club_people(); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.club_people() FROM PUBLIC;
GRANT ALL ON FUNCTION public.club_people() TO pryday_app;

-- Name: FUNCTION club_person(whom bigint); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.club_person(whom bigint) FROM PUBLIC;
GRANT ALL ON FUNCTION public.club_person(whom bigint) TO pryday_app;

-- Name: FUNCTION club_plans(); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.club_plans() FROM PUBLIC;
GRANT ALL ON FUNCTION public.club_plans() TO pryday_app;

-- Name: FUNCTION club_versions(); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.club_versions() FROM PUBLIC;
GRANT ALL ON FUNCTION public.club_versions() TO pryday_app;

-- Name: FUNCTION clubs_organised(); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.clubs_organised() FROM PUBLIC;
GRANT ALL ON FUNCTION public.clubs_organised() TO pryday_app;

-- Name: FUNCTION end_passkey(whom bigint, which bigint, ran_by text, came_from text); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.end_passkey(whom bigint, which bigint, ran_by text, came_from text) FROM PUBLIC;
GRANT ALL ON FUNCTION public.end_passkey(whom bigint, which bigint, ran_by text, came_from text) TO pryday_app;

-- Name: FUNCTION end_session(its_token text); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.end_session(its_token text) FROM PUBLIC;
GRANT ALL ON FUNCTION public.end_session(its_token text) TO pryday_app;

-- Name: FUNCTION end_sign_in(whom bigint, which bigint, ran_by text, came_from text); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.end_sign_in(whom bigint, which bigint, ran_by text, came_from text) FROM PUBLIC;
GRANT ALL ON FUNCTION public.end_sign_in(whom bigint, which bigint, ran_by text, came_from text) TO pryday_app;

-- Name: FUNCTION ensure_person(address text); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.ensure_person(address text) FROM PUBLIC;
GRANT ALL ON FUNCTION public.ensure_person(address text) TO pryday_app;

-- Name: FUNCTION erase_person(whom bigint, instead text, ran_by text); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.erase_person(whom bigint, instead text, ran_by text) FROM PUBLIC;
GRANT ALL ON FUNCTION public.erase_person(whom bigint, instead text, ran_by text) TO pryday_app;

-- Name: FUNCTION find_session(its_token text); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.find_session(its_token text) FROM PUBLIC;
GRANT ALL ON FUNCTION public.find_session(its_token text) TO pryday_app;

-- Name: FUNCTION forget_person(whom bigint); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.forget_person(whom bigint) FROM PUBLIC;
GRANT ALL ON FUNCTION public.forget_person(whom bigint) TO pryday_app;

-- Name: FUNCTION hives_named(prefix text, most integer); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.hives_named(prefix text, most integer) FROM PUBLIC;
GRANT ALL ON FUNCTION public.hives_named(prefix text, most integer) TO pryday_app;

-- Name: FUNCTION invitations_of(whom bigint); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.invitations_of(whom bigint) FROM PUBLIC;
GRANT ALL ON FUNCTION public.invitations_of(whom bigint) TO pryday_app;

-- Name: FUNCTION invited_people(); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.invited_people() FROM PUBLIC;
GRANT ALL ON FUNCTION public.invited_people() TO pryday_app;

-- Name: FUNCTION knows_token(hash bytea); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.knows_token(hash bytea) FROM PUBLIC;
GRANT ALL ON FUNCTION public.knows_token(hash bytea) TO pryday_app;

-- Name: FUNCTION link_of_token(hash bytea); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.link_of_token(hash bytea) FROM PUBLIC;
GRANT ALL ON FUNCTION public.link_of_token(hash bytea) TO pryday_app;

-- Name: FUNCTION mails_to_members(since date); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.mails_to_members(since date) FROM PUBLIC;
GRANT ALL ON FUNCTION public.mails_to_members(since date) TO pryday_app;

-- Name: FUNCTION mark_refused(whom bigint, address text, reply text); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.mark_refused(whom bigint, address text, reply text) FROM PUBLIC;
GRANT ALL ON FUNCTION public.mark_refused(whom bigint, address text, reply text) TO pryday_app;

-- Name: FUNCTION members_of_several(); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.members_of_several() FROM PUBLIC;
GRANT ALL ON FUNCTION public.members_of_several() TO pryday_app;

-- Name: FUNCTION memberships(address text); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.memberships(address text) FROM PUBLIC;
GRANT ALL ON FUNCTION public.memberships(address text) TO pryday_app;

-- Name: FUNCTION memberships_of(whom bigint); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.memberships_of(whom bigint) FROM PUBLIC;
GRANT ALL ON FUNCTION public.memberships_of(whom bigint) TO pryday_app;

-- Name: FUNCTION new_key(which text); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.new_key(which text) FROM PUBLIC;

-- Name: FUNCTION new_sign_in(whom bigint, hash bytea, life interval); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.new_sign_in(whom bigint, hash bytea, life interval) FROM PUBLIC;
GRANT ALL ON FUNCTION public.new_sign_in(whom bigint, hash bytea, life interval) TO pryday_app;

-- Name: FUNCTION note_sign_in(whom bigint, how text, from_browser text, from_system text, came_from text, ran_by text); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.note_sign_in(whom bigint, how text, from_browser text, from_system text, came_from text, ran_by text) FROM PUBLIC;

-- Name: FUNCTION passkey_by_credential(its_credential bytea); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.passkey_by_credential(its_credential bytea) FROM PUBLIC;
GRANT ALL ON FUNCTION public.passkey_by_credential(its_credential bytea) TO pryday_app;

-- Name: FUNCTION passkeys_of(whom bigint); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.passkeys_of(whom bigint) FROM PUBLIC;
GRANT ALL ON FUNCTION public.passkeys_of(whom bigint) TO pryday_app;

-- Name: FUNCTION person_by_email(address text); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.person_by_email(address text) FROM PUBLIC;
GRANT ALL ON FUNCTION public.person_by_email(address text) TO pryday_app;

-- Name: FUNCTION person_by_id(whom bigint); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.person_by_id(whom bigint) FROM PUBLIC;
GRANT ALL ON FUNCTION public.person_by_id(whom bigint) TO pryday_app;

-- Name: FUNCTION person_data(whom bigint); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.person_data(whom bigint) FROM PUBLIC;
GRANT ALL ON FUNCTION public.person_data(whom bigint) TO pryday_app;

-- Name: FUNCTION person_of_token(hash bytea); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.person_of_token(hash bytea) FROM PUBLIC;
GRANT ALL ON FUNCTION public.person_of_token(hash bytea) TO pryday_app;

-- Name: FUNCTION rotate_keys(keep interval); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.rotate_keys(keep interval) FROM PUBLIC;

-- Name: FUNCTION save_session(its_token text, its_data bytea, until timestamp with time zone); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.save_session(its_token text, its_data bytea, until timestamp with time zone) FROM PUBLIC;
GRANT ALL ON FUNCTION public.save_session(its_token text, its_data bytea, until timestamp with time zone) TO pryday_app;

-- Name: FUNCTION service_counts(moment timestamp with time zone); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.service_counts(moment timestamp with time zone) FROM PUBLIC;
GRANT ALL ON FUNCTION public.service_counts(moment timestamp with time zone) TO pryday_app;

-- Name: FUNCTION sign_ins_of(whom bigint, longest interval); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.sign_ins_of(whom bigint, longest interval) FROM PUBLIC;
GRANT ALL ON FUNCTION public.sign_ins_of(whom bigint, longest interval) TO pryday_app;

-- Name: FUNCTION sign_out(whom bigint, with_passkeys boolean, with_calendars boolean); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.sign_out(whom bigint, with_passkeys boolean, with_calendars boolean) FROM PUBLIC;
GRANT ALL ON FUNCTION public.sign_out(whom bigint, with_passkeys boolean, with_calendars boolean) TO pryday_app;

-- Name: FUNCTION sign_out_member(whom bigint); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.sign_out_member(whom bigint) FROM PUBLIC;
GRANT ALL ON FUNCTION public.sign_out_member(whom bigint) TO pryday_app;

-- Name: FUNCTION signed_in(whom bigint, by_sign_in bigint); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.signed_in(whom bigint, by_sign_in bigint) FROM PUBLIC;
GRANT ALL ON FUNCTION public.signed_in(whom bigint, by_sign_in bigint) TO pryday_app;

-- Name: FUNCTION signing_keys(which text); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.signing_keys(which text) FROM PUBLIC;
GRANT ALL ON FUNCTION public.signing_keys(which text) TO pryday_app;

-- Name: FUNCTION use_address_change(hash bytea, back boolean, way_back bytea, life interval); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.use_address_change(hash bytea, back boolean, way_back bytea, life interval) FROM PUBLIC;
GRANT ALL ON FUNCTION public.use_address_change(hash bytea, back boolean, way_back bytea, life interval) TO pryday_app;

-- Name: FUNCTION use_passkey(which bigint, its_data jsonb, from_browser text, from_system text, came_from text, ran_by text); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.use_passkey(which bigint, its_data jsonb, from_browser text, from_system text, came_from text, ran_by text) FROM PUBLIC;
GRANT ALL ON FUNCTION public.use_passkey(which bigint, its_data jsonb, from_browser text, from_system text, came_from text, ran_by text) TO pryday_app;

-- Name: FUNCTION use_sign_in_token(hash bytea, from_browser text, from_system text, came_from text, ran_by text); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.use_sign_in_token(hash bytea, from_browser text, from_system text, came_from text, ran_by text) FROM PUBLIC;
GRANT ALL ON FUNCTION public.use_sign_in_token(hash bytea, from_browser text, from_system text, came_from text, ran_by text) TO pryday_app;

-- Name: FUNCTION withdraw_address(whom bigint); Type: ACL; Schema: public; Owner: -

REVOKE ALL ON FUNCTION public.withdraw_address(whom bigint) FROM PUBLIC;
GRANT ALL ON FUNCTION public.withdraw_address(whom bigint) TO pryday_app;

-- Name: TABLE apiary; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE public.apiary TO pryday_app;

-- Name: SEQUENCE apiary_id_seq; Type: ACL; Schema: public; Owner: -

GRANT SELECT,USAGE ON SEQUENCE public.apiary_id_seq TO pryday_app;

-- Name: TABLE apiary_keeper; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE public.apiary_keeper TO pryday_app;

-- Name: TABLE audit_chain; Type: ACL; Schema: public; Owner: -

GRANT SELECT ON TABLE public.audit_chain TO pryday_app;

-- Name: SEQUENCE audit_id_seq; Type: ACL; Schema: public; Owner: -

GRANT SELECT,USAGE ON SEQUENCE public.audit_id_seq TO pryday_app;

-- Name: TABLE box; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE public.box TO pryday_app;

-- Name: SEQUENCE box_id_seq; Type: ACL; Schema: public; Owner: -

GRANT SELECT,USAGE ON SEQUENCE public.box_id_seq TO pryday_app;

-- Name: TABLE box_kind; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE public.box_kind TO pryday_app;

-- Name: TABLE box_place; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE public.box_place TO pryday_app;

-- Name: TABLE calendar_entry; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE public.calendar_entry TO pryday_app;

-- Name: COLUMN calendar_link.club_id; Type: ACL; Schema: public; Owner: -

GRANT SELECT(club_id),INSERT(club_id) ON TABLE public.calendar_link TO pryday_app;

-- Name: COLUMN calendar_link.id; Type: ACL; Schema: public; Owner: -

GRANT SELECT(id) ON TABLE public.calendar_link TO pryday_app;

-- Name: COLUMN calendar_link.token_hash; Type: ACL; Schema: public; Owner: -

GRANT INSERT(token_hash) ON TABLE public.calendar_link TO pryday_app;

-- Name: COLUMN calendar_link.kind; Type: ACL; Schema: public; Owner: -

GRANT SELECT(kind),INSERT(kind) ON TABLE public.calendar_link TO pryday_app;

-- Name: COLUMN calendar_link.member_id; Type: ACL; Schema: public; Owner: -

GRANT SELECT(member_id),INSERT(member_id),UPDATE(member_id) ON TABLE public.calendar_link TO pryday_app;

-- Name: COLUMN calendar_link.apiary_id; Type: ACL; Schema: public; Owner: -

GRANT SELECT(apiary_id),INSERT(apiary_id),UPDATE(apiary_id) ON TABLE public.calendar_link TO pryday_app;

-- Name: COLUMN calendar_link.label; Type: ACL; Schema: public; Owner: -

GRANT SELECT(label),INSERT(label),UPDATE(label) ON TABLE public.calendar_link TO pryday_app;

-- Name: COLUMN calendar_link.confirmed_only; Type: ACL; Schema: public; Owner: -

GRANT SELECT(confirmed_only),INSERT(confirmed_only),UPDATE(confirmed_only) ON TABLE public.calendar_link TO pryday_app;

-- Name: COLUMN calendar_link.alarms; Type: ACL; Schema: public; Owner: -

GRANT SELECT(alarms),INSERT(alarms),UPDATE(alarms) ON TABLE public.calendar_link TO pryday_app;

-- Name: COLUMN calendar_link.timed; Type: ACL; Schema: public; Owner: -

GRANT SELECT(timed),INSERT(timed),UPDATE(timed) ON TABLE public.calendar_link TO pryday_app;

-- Name: COLUMN calendar_link.far; Type: ACL; Schema: public; Owner: -

GRANT SELECT(far),INSERT(far),UPDATE(far) ON TABLE public.calendar_link TO pryday_app;

-- Name: COLUMN calendar_link.exact_place; Type: ACL; Schema: public; Owner: -

GRANT SELECT(exact_place),INSERT(exact_place),UPDATE(exact_place) ON TABLE public.calendar_link TO pryday_app;

-- Name: COLUMN calendar_link.created_at; Type: ACL; Schema: public; Owner: -

GRANT SELECT(created_at) ON TABLE public.calendar_link TO pryday_app;

-- Name: COLUMN calendar_link.changed_at; Type: ACL; Schema: public; Owner: -

GRANT SELECT(changed_at),UPDATE(changed_at) ON TABLE public.calendar_link TO pryday_app;

-- Name: COLUMN calendar_link.replaced_at; Type: ACL; Schema: public; Owner: -

GRANT SELECT(replaced_at),UPDATE(replaced_at) ON TABLE public.calendar_link TO pryday_app;

-- Name: COLUMN calendar_link.revoked_at; Type: ACL; Schema: public; Owner: -

GRANT SELECT(revoked_at),UPDATE(revoked_at) ON TABLE public.calendar_link TO pryday_app;

-- Name: COLUMN calendar_link.fetched_at; Type: ACL; Schema: public; Owner: -

GRANT SELECT(fetched_at),UPDATE(fetched_at) ON TABLE public.calendar_link TO pryday_app;

-- Name: COLUMN calendar_link.fetched_by; Type: ACL; Schema: public; Owner: -

GRANT SELECT(fetched_by),UPDATE(fetched_by) ON TABLE public.calendar_link TO pryday_app;

-- Name: COLUMN calendar_link.fetches; Type: ACL; Schema: public; Owner: -

GRANT SELECT(fetches),UPDATE(fetches) ON TABLE public.calendar_link TO pryday_app;

-- Name: COLUMN calendar_link.shown_version; Type: ACL; Schema: public; Owner: -

GRANT SELECT(shown_version),UPDATE(shown_version) ON TABLE public.calendar_link TO pryday_app;

-- Name: COLUMN calendar_link.language; Type: ACL; Schema: public; Owner: -

GRANT SELECT(language),UPDATE(language) ON TABLE public.calendar_link TO pryday_app;

-- Name: SEQUENCE calendar_link_id_seq; Type: ACL; Schema: public; Owner: -

GRANT SELECT,USAGE ON SEQUENCE public.calendar_link_id_seq TO pryday_app;

-- Name: TABLE club; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE public.club TO pryday_app;

-- Name: SEQUENCE club_id_seq; Type: ACL; Schema: public; Owner: -

GRANT SELECT,USAGE ON SEQUENCE public.club_id_seq TO pryday_app;

-- Name: TABLE colony_event; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE public.colony_event TO pryday_app;

-- Name: TABLE decided; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE public.decided TO pryday_app;

-- Name: TABLE due; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE public.due TO pryday_app;

-- Name: TABLE forecast; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT,DELETE ON TABLE public.forecast TO pryday_app;

-- Name: TABLE gap; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT ON TABLE public.gap TO pryday_app;

-- Name: TABLE hive; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE public.hive TO pryday_app;

-- Name: SEQUENCE hive_id_seq; Type: ACL; Schema: public; Owner: -

GRANT SELECT,USAGE ON SEQUENCE public.hive_id_seq TO pryday_app;

-- Name: TABLE inbound_mail; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE public.inbound_mail TO pryday_app;

-- Name: SEQUENCE inbound_mail_id_seq; Type: ACL; Schema: public; Owner: -

GRANT SELECT,USAGE ON SEQUENCE public.inbound_mail_id_seq TO pryday_app;

-- Name: TABLE invitation; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE public.invitation TO pryday_app;

-- Name: SEQUENCE invitation_id_seq; Type: ACL; Schema: public; Owner: -

GRANT SELECT,USAGE ON SEQUENCE public.invitation_id_seq TO pryday_app;

-- Name: TABLE leave_alone; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE public.leave_alone TO pryday_app;

-- Name: SEQUENCE leave_alone_id_seq; Type: ACL; Schema: public; Owner: -

GRANT SELECT,USAGE ON SEQUENCE public.leave_alone_id_seq TO pryday_app;

-- Name: TABLE mailbox; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE public.mailbox TO pryday_app;

-- Name: TABLE member; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE public.member TO pryday_app;

-- Name: SEQUENCE member_id_seq; Type: ACL; Schema: public; Owner: -

GRANT SELECT,USAGE ON SEQUENCE public.member_id_seq TO pryday_app;

-- Name: TABLE message; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE public.message TO pryday_app;

-- Name: SEQUENCE message_id_seq; Type: ACL; Schema: public; Owner: -

GRANT SELECT,USAGE ON SEQUENCE public.message_id_seq TO pryday_app;

-- Name: TABLE opening; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT ON TABLE public.opening TO pryday_app;

-- Name: SEQUENCE opening_seq_seq; Type: ACL; Schema: public; Owner: -

GRANT SELECT,USAGE ON SEQUENCE public.opening_seq_seq TO pryday_app;

-- Name: TABLE photo; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE public.photo TO pryday_app;

-- Name: SEQUENCE photo_seq_seq; Type: ACL; Schema: public; Owner: -

GRANT SELECT,USAGE ON SEQUENCE public.photo_seq_seq TO pryday_app;

-- Name: TABLE recalibration; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT,DELETE ON TABLE public.recalibration TO pryday_app;

-- Name: TABLE rules; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT ON TABLE public.rules TO pryday_app;

-- Name: TABLE told; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE public.told TO pryday_app;

-- Name: TABLE upload; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE public.upload TO pryday_app;

-- Name: TABLE visit; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE public.visit TO pryday_app;

-- Name: TABLE visit_box; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE public.visit_box TO pryday_app;

-- Name: SEQUENCE visit_id_seq; Type: ACL; Schema: public; Owner: -

GRANT SELECT,USAGE ON SEQUENCE public.visit_id_seq TO pryday_app;

-- Name: TABLE visit_member; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE public.visit_member TO pryday_app;

-- Name: TABLE visit_move; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE public.visit_move TO pryday_app;

-- Name: TABLE visit_not_box; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE public.visit_not_box TO pryday_app;

-- Name: TABLE visit_not_opened; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE public.visit_not_opened TO pryday_app;

-- Name: TABLE visit_tick; Type: ACL; Schema: public; Owner: -

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE public.visit_tick TO pryday_app;

