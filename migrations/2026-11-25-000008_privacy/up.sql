-- Two gates on every table. The tenant gate (restrictive) keeps a school to itself; the person gates below it say who within
-- the school. Both hold for the owner too (FORCE). What no policy admits does not exist for the asker.
DO $$
DECLARE
  t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['person', 'credential', 'session', 'access_link', 'course', 'assignment', 'enrolment', 'job', 'mail', 'upload', 'footage',
    'shot', 'revision', 'submission', 'quota_entry', 'critique', 'concern', 'note', 'verdict', 'stroke', 'trace', 'amendment', 'answer'] LOOP
    EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', t);
    EXECUTE format('ALTER TABLE %I FORCE ROW LEVEL SECURITY', t);
    EXECUTE format('CREATE POLICY tenant ON %I AS RESTRICTIVE TO refrain_app USING (school_id = app_school()) WITH CHECK (school_id = app_school())', t);
    EXECUTE format('GRANT SELECT ON %I TO refrain_app', t);
  END LOOP;
END $$;
ALTER TABLE school ENABLE ROW LEVEL SECURITY;
ALTER TABLE school FORCE ROW LEVEL SECURITY;
GRANT SELECT ON school TO refrain_app;
CREATE POLICY own ON school TO refrain_app USING (id = app_school());

-- Enrolments decide who knows whom; everything else leans on them.
CREATE POLICY known ON enrolment FOR SELECT TO refrain_app USING (app_is('office') OR student_id = app_person() OR mentor_id = app_person());
CREATE POLICY enrol ON enrolment FOR INSERT TO refrain_app WITH CHECK (app_is('office'));
CREATE POLICY assign ON enrolment FOR UPDATE TO refrain_app USING (app_is('office'));
GRANT INSERT, UPDATE (mentor_id, starts_on) ON enrolment TO refrain_app;

-- The author of a draft alone; the student and the student's present mentor once it is released.
CREATE POLICY author ON critique TO refrain_app USING (mentor_id = app_person()) WITH CHECK (mentor_id = app_person() AND app_is('mentor'));
CREATE POLICY released ON critique FOR SELECT TO refrain_app USING (released_at <= now() AND (student_id = app_person()
  OR enrolment_id IN (SELECT e.id FROM enrolment e WHERE e.mentor_id = app_person())));
GRANT INSERT, UPDATE (summary, version, released_at) ON critique TO refrain_app;

CREATE POLICY known ON person FOR SELECT TO refrain_app USING (id = app_person() OR app_is('office')
  OR id IN (SELECT e.student_id FROM enrolment e) OR id IN (SELECT e.mentor_id FROM enrolment e) OR id IN (SELECT c.mentor_id FROM critique c));
CREATE POLICY add ON person FOR INSERT TO refrain_app WITH CHECK (app_is('office'));
CREATE POLICY correct ON person FOR UPDATE TO refrain_app USING (id = app_person() OR app_is('office'));
GRANT INSERT, UPDATE (email, name, preferences, invited_at, joined_at) ON person TO refrain_app;

CREATE POLICY own ON credential TO refrain_app USING (person_id = app_person()) WITH CHECK (person_id = app_person());
GRANT INSERT, UPDATE (password_hash, changed_at) ON credential TO refrain_app;
CREATE POLICY own ON session TO refrain_app USING (person_id = app_person()) WITH CHECK (person_id = app_person());
GRANT INSERT, DELETE ON session TO refrain_app;
CREATE POLICY own ON access_link TO refrain_app USING (person_id = app_person()) WITH CHECK (person_id = app_person());
CREATE POLICY invite ON access_link FOR INSERT TO refrain_app WITH CHECK (app_is('office') AND purpose = 'invitation');
CREATE POLICY uninvite ON access_link FOR DELETE TO refrain_app USING (app_is('office') AND purpose = 'invitation');
CREATE POLICY invited ON access_link FOR SELECT TO refrain_app USING (app_is('office') AND purpose = 'invitation');
GRANT INSERT, DELETE, UPDATE (used_at) ON access_link TO refrain_app;

CREATE POLICY taken ON course FOR SELECT TO refrain_app USING (app_is('office') OR id IN (SELECT e.course_id FROM enrolment e));
CREATE POLICY offer ON course FOR INSERT TO refrain_app WITH CHECK (app_is('office'));
CREATE POLICY amend ON course FOR UPDATE TO refrain_app USING (app_is('office'));
GRANT INSERT, UPDATE (name, brief, granted, promise_days) ON course TO refrain_app;
CREATE POLICY taken ON assignment FOR SELECT TO refrain_app USING (app_is('office') OR course_id IN (SELECT e.course_id FROM enrolment e));
CREATE POLICY offer ON assignment FOR INSERT TO refrain_app WITH CHECK (app_is('office'));
CREATE POLICY amend ON assignment FOR UPDATE TO refrain_app USING (app_is('office'));
GRANT INSERT, UPDATE (title, brief) ON assignment TO refrain_app;

CREATE POLICY own ON job FOR SELECT TO refrain_app USING (person_id = app_person());
CREATE POLICY ask ON job FOR INSERT TO refrain_app WITH CHECK (true);
CREATE POLICY work ON job FOR UPDATE TO refrain_app USING (person_id = app_person());
GRANT INSERT, UPDATE ON job TO refrain_app;

CREATE POLICY post ON mail FOR SELECT TO refrain_app USING (person_id = app_person() OR app_is('office'));
CREATE POLICY write ON mail FOR INSERT TO refrain_app WITH CHECK (person_id IN (SELECT p.id FROM person p));
CREATE POLICY deliver ON mail FOR UPDATE TO refrain_app USING (person_id = app_person() OR app_is('office'));
GRANT INSERT, UPDATE (state, last_error, sent_at) ON mail TO refrain_app;

CREATE POLICY own ON upload TO refrain_app USING (person_id = app_person()) WITH CHECK (person_id = app_person());
GRANT INSERT, DELETE, UPDATE (received, state, problem, writer, writer_until, expires_at) ON upload TO refrain_app;

CREATE POLICY own ON shot TO refrain_app USING (student_id = app_person())
  WITH CHECK (student_id = app_person() AND enrolment_id IN (SELECT e.id FROM enrolment e WHERE e.student_id = app_person()));
CREATE POLICY taught ON shot FOR SELECT TO refrain_app USING (app_is('office') OR enrolment_id IN (SELECT e.id FROM enrolment e WHERE e.mentor_id = app_person()));
GRANT INSERT, UPDATE (title, first_frame) ON shot TO refrain_app;

CREATE POLICY seen ON revision FOR SELECT TO refrain_app USING (shot_id IN (SELECT s.id FROM shot s));
CREATE POLICY send ON revision FOR INSERT TO refrain_app WITH CHECK (shot_id IN (SELECT s.id FROM shot s WHERE s.student_id = app_person()));
GRANT INSERT ON revision TO refrain_app;

-- Footage: its student; the mentor once it was sent. Never the office.
CREATE POLICY own ON footage TO refrain_app USING (student_id = app_person()) WITH CHECK (student_id = app_person());
CREATE POLICY taught ON footage FOR SELECT TO refrain_app USING (id IN (SELECT r.footage_id FROM revision r JOIN shot s ON s.id = r.shot_id
  JOIN enrolment e ON e.id = s.enrolment_id WHERE e.mentor_id = app_person()));
GRANT INSERT, UPDATE, DELETE ON footage TO refrain_app;

CREATE POLICY known ON submission FOR SELECT TO refrain_app USING (student_id = app_person() OR app_is('office')
  OR enrolment_id IN (SELECT e.id FROM enrolment e WHERE e.mentor_id = app_person()));
CREATE POLICY send ON submission FOR INSERT TO refrain_app WITH CHECK (student_id = app_person()
  AND enrolment_id IN (SELECT e.id FROM enrolment e WHERE e.student_id = app_person()));
CREATE POLICY move ON submission FOR UPDATE TO refrain_app USING (student_id = app_person()
  OR enrolment_id IN (SELECT e.id FROM enrolment e WHERE e.mentor_id = app_person()));
GRANT INSERT, UPDATE (opened_at, withdrawn_at, returned_at, return_reason) ON submission TO refrain_app;

CREATE POLICY known ON quota_entry FOR SELECT TO refrain_app USING (enrolment_id IN (SELECT e.id FROM enrolment e));
CREATE POLICY enter ON quota_entry FOR INSERT TO refrain_app WITH CHECK (actor_id = app_person() AND (
  (app_is('office') AND kind IN ('grant', 'adjust', 'expire'))
  OR (kind IN ('spend', 'return') AND enrolment_id IN (SELECT e.id FROM enrolment e WHERE e.student_id = app_person()))));
GRANT INSERT ON quota_entry TO refrain_app;

-- The parts of a critique follow it: seen when it is seen, written by its author.
DO $$
DECLARE
  t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['concern', 'note', 'verdict', 'stroke', 'trace', 'amendment'] LOOP
    EXECUTE format('CREATE POLICY seen ON %I FOR SELECT TO refrain_app USING (critique_id IN (SELECT c.id FROM critique c))', t);
    EXECUTE format('CREATE POLICY author ON %I TO refrain_app USING (critique_id IN (SELECT c.id FROM critique c WHERE c.mentor_id = app_person()))', t);
    EXECUTE format('GRANT INSERT, UPDATE, DELETE ON %I TO refrain_app', t);
  END LOOP;
END $$;
CREATE POLICY seen ON answer FOR SELECT TO refrain_app USING (critique_id IN (SELECT c.id FROM critique c));
CREATE POLICY own ON answer TO refrain_app USING (student_id = app_person())
  WITH CHECK (student_id = app_person() AND critique_id IN (SELECT c.id FROM critique c WHERE c.student_id = app_person()));
GRANT INSERT, UPDATE (kind, words, updated_at) ON answer TO refrain_app;

-- The narrow doors across people: each owned by a role that may do only what its functions need.
DO $$
DECLARE
  t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['school', 'person', 'credential', 'session', 'access_link', 'enrolment', 'job', 'mail', 'revision', 'submission', 'quota_entry', 'critique'] LOOP
    EXECUTE format('CREATE POLICY door ON %I TO refrain_definer USING (true) WITH CHECK (true)', t);
    EXECUTE format('GRANT SELECT ON %I TO refrain_definer', t);
  END LOOP;
END $$;
GRANT UPDATE (seen_at) ON session TO refrain_definer;
GRANT DELETE ON session TO refrain_definer;
GRANT UPDATE (remaining) ON enrolment TO refrain_definer;
GRANT UPDATE ON job TO refrain_definer;

CREATE FUNCTION find_school(slug_given text) RETURNS TABLE (id uuid, slug text, name text, time_zone text)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, public AS $$
  SELECT s.id, s.slug, s.name, s.time_zone FROM public.school s WHERE s.slug = slug_given $$;

CREATE FUNCTION find_account(slug_given text, email_given text) RETURNS TABLE (school_id uuid, person_id uuid, roles text[], password_hash text)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, public AS $$
  SELECT p.school_id, p.id, p.roles, c.password_hash FROM public.school s JOIN public.person p ON p.school_id = s.id
  LEFT JOIN public.credential c ON c.person_id = p.id WHERE s.slug = slug_given AND p.email = lower(email_given) $$;

-- Also moves the idle limit, at most once a minute so that reading stays cheap.
CREATE FUNCTION find_session(hash bytea, at timestamptz, idle interval, absolute interval) RETURNS TABLE (school_id uuid, person_id uuid, roles text[])
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, public AS $$
BEGIN
  UPDATE public.session s SET seen_at = at
    WHERE s.token_hash = hash AND s.seen_at < at - interval '1 minute' AND s.seen_at > at - idle AND s.created_at > at - absolute;
  RETURN QUERY SELECT s.school_id, s.person_id, p.roles FROM public.session s JOIN public.person p ON p.id = s.person_id
    WHERE s.token_hash = hash AND s.seen_at > at - idle AND s.created_at > at - absolute;
END $$;

CREATE FUNCTION find_link(hash bytea, at timestamptz) RETURNS TABLE (school_id uuid, person_id uuid, roles text[], purpose text)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, public AS $$
  SELECT l.school_id, l.person_id, p.roles, l.purpose FROM public.access_link l JOIN public.person p ON p.id = l.person_id
  WHERE l.token_hash = hash AND l.used_at IS NULL AND l.expires_at > at $$;

CREATE FUNCTION end_old_sessions(at timestamptz, idle interval, absolute interval) RETURNS bigint
LANGUAGE sql SECURITY DEFINER SET search_path = pg_catalog, public AS $$
  WITH gone AS (DELETE FROM public.session s WHERE s.seen_at <= at - idle OR s.created_at <= at - absolute RETURNING 1) SELECT count(*) FROM gone $$;

-- The oldest job that is due, or whose worker's lease ran out; at most one worker gets it.
CREATE FUNCTION claim_job(worker_given text, lease_ms integer, kinds text[])
RETURNS TABLE (id bigint, school_id uuid, person_id uuid, roles text[], kind text, payload jsonb, attempt integer, max_attempts integer, lease_token uuid)
LANGUAGE sql SECURITY DEFINER SET search_path = pg_catalog, public AS $$
  UPDATE public.job j SET state = 'running', attempt = j.attempt + 1, lease_token = gen_random_uuid(), worker = worker_given,
    lease_until = clock_timestamp() + lease_ms * interval '1 millisecond'
  FROM public.person p
  WHERE j.id = (SELECT w.id FROM public.job w WHERE w.kind = ANY (kinds)
      AND ((w.state = 'ready' AND w.run_at <= clock_timestamp()) OR (w.state = 'running' AND w.lease_until < clock_timestamp()))
      ORDER BY w.run_at, w.id FOR UPDATE SKIP LOCKED LIMIT 1)
    AND p.id = j.person_id
  RETURNING j.id, j.school_id, j.person_id, p.roles, j.kind, j.payload, j.attempt, j.max_attempts, j.lease_token $$;

CREATE FUNCTION work_state() RETURNS TABLE (what text, label text, n double precision)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, public AS $$
  SELECT 'jobs', j.kind || ':' || j.state, count(*)::double precision FROM public.job j WHERE j.state IN ('ready', 'running', 'failed') GROUP BY 2
  UNION ALL SELECT 'oldest_job_seconds', '', coalesce(extract(epoch FROM clock_timestamp() - min(j.run_at)), 0)::double precision FROM public.job j WHERE j.state = 'ready' AND j.run_at <= clock_timestamp()
  UNION ALL SELECT 'mail', m.state, count(*)::double precision FROM public.mail m GROUP BY 2
  UNION ALL SELECT 'ledger', q.kind, sum(q.amount)::double precision FROM public.quota_entry q GROUP BY 2
  UNION ALL SELECT 'ledger_faults', '', count(*)::double precision FROM public.enrolment e
    WHERE e.remaining <> (SELECT coalesce(sum(q.amount), 0) FROM public.quota_entry q WHERE q.enrolment_id = e.id) $$;

DO $$
DECLARE
  f text;
BEGIN
  FOREACH f IN ARRAY ARRAY['find_school(text)', 'find_account(text, text)', 'find_session(bytea, timestamptz, interval, interval)', 'find_link(bytea, timestamptz)',
    'end_old_sessions(timestamptz, interval, interval)', 'claim_job(text, integer, text[])', 'work_state()', 'move_remaining()', 'submission_is_whole()', 'refuse_after_release()'] LOOP
    EXECUTE format('ALTER FUNCTION %s OWNER TO refrain_definer', f);
    EXECUTE format('REVOKE ALL ON FUNCTION %s FROM PUBLIC', f);
    EXECUTE format('GRANT EXECUTE ON FUNCTION %s TO refrain_app', f);
  END LOOP;
END $$;
