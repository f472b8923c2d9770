-- Whether a row that hangs on a critique may be seen is asked of that critique, not looked up in the list of all that may be: that list,
-- with the policies of its own tables, cost more than everything else a page of a large school reads, and was planned with every
-- statement. Lists that stay short are made by a function each. What the policies admit stays what it was.
--
-- The functions are doors: they see past the policies, and answer about who asks alone. Each keeps its plan for the session.

-- Whoever wrote it; once it is out, its student and their present mentor.
CREATE FUNCTION sees_critique(critique_given uuid) RETURNS boolean
LANGUAGE plpgsql STABLE SECURITY DEFINER COST 500 SET search_path = pg_catalog, public AS $$
BEGIN
  RETURN EXISTS (SELECT FROM public.critique c WHERE c.id = critique_given AND c.school_id = public.app_school()
    AND (c.mentor_id = public.app_person() OR c.released_at <= now() AND (c.student_id = public.app_person()
      OR EXISTS (SELECT FROM public.enrolment e WHERE e.id = c.enrolment_id AND e.mentor_id = public.app_person()))));
END $$;

CREATE FUNCTION wrote_critique(critique_given uuid) RETURNS boolean
LANGUAGE plpgsql STABLE SECURITY DEFINER COST 500 SET search_path = pg_catalog, public AS $$
BEGIN
  RETURN EXISTS (SELECT FROM public.critique c WHERE c.id = critique_given AND c.school_id = public.app_school() AND c.mentor_id = public.app_person());
END $$;

-- Who wrote it and still teaches its student writes on.
CREATE FUNCTION now_teaches(critique_given uuid) RETURNS boolean
LANGUAGE plpgsql STABLE SECURITY DEFINER COST 500 SET search_path = pg_catalog, public AS $$
BEGIN
  RETURN EXISTS (SELECT FROM public.critique c JOIN public.enrolment e ON e.id = c.enrolment_id WHERE c.id = critique_given
    AND c.school_id = public.app_school() AND e.mentor_id = public.app_person());
END $$;

-- The shots of whoever asks, as their student or as its present mentor: few enough for a list.
CREATE FUNCTION own_shots() RETURNS SETOF uuid
LANGUAGE plpgsql STABLE SECURITY DEFINER ROWS 200 SET search_path = pg_catalog, public AS $$
BEGIN
  RETURN QUERY SELECT s.id FROM public.shot s WHERE s.school_id = public.app_school() AND s.student_id = public.app_person()
    UNION ALL SELECT s.id FROM public.enrolment e JOIN public.shot s ON s.school_id = e.school_id AND s.enrolment_id = e.id
      WHERE e.school_id = public.app_school() AND e.mentor_id = public.app_person();
END $$;

-- Footage that was sent to whoever asks, as the student's present mentor.
CREATE FUNCTION sent_footage() RETURNS SETOF uuid
LANGUAGE plpgsql STABLE SECURITY DEFINER ROWS 500 SET search_path = pg_catalog, public AS $$
BEGIN
  RETURN QUERY SELECT r.footage_id FROM public.enrolment e JOIN public.shot s ON s.school_id = e.school_id AND s.enrolment_id = e.id
      JOIN public.revision r ON r.school_id = s.school_id AND r.shot_id = s.id
    WHERE e.school_id = public.app_school() AND e.mentor_id = public.app_person();
END $$;

-- Who has told a student something about a revision keeps it, and its footage, whoever teaches them now.
CREATE FUNCTION told_revisions() RETURNS TABLE (revision_id uuid, footage_id uuid)
LANGUAGE plpgsql STABLE SECURITY DEFINER ROWS 500 SET search_path = pg_catalog, public AS $$
BEGIN
  RETURN QUERY SELECT r.id, r.footage_id FROM public.critique c JOIN public.revision r ON r.id = c.revision_id
    WHERE c.school_id = public.app_school() AND c.mentor_id = public.app_person() AND c.released_at <= now();
END $$;

DO $$
DECLARE
  f text;
BEGIN
  FOREACH f IN ARRAY ARRAY['sees_critique(uuid)', 'wrote_critique(uuid)', 'now_teaches(uuid)', 'own_shots()',
    'sent_footage()', 'told_revisions()'] LOOP
    EXECUTE format('ALTER FUNCTION %s OWNER TO refrain_definer', f);
    EXECUTE format('REVOKE ALL ON FUNCTION %s FROM PUBLIC', f);
    EXECUTE format('GRANT EXECUTE ON FUNCTION %s TO refrain_app', f);
  END LOOP;
END $$;

-- A role never changes, and only mentors write: of whom the answer is known it is asked once, not of each row.
DO $$
DECLARE
  t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['concern', 'note', 'verdict', 'stroke', 'trace', 'amendment'] LOOP
    EXECUTE format('ALTER POLICY seen ON %I USING ((SELECT app_is(''student'') OR app_is(''mentor'')) AND sees_critique(critique_id))', t);
    EXECUTE format('ALTER POLICY author ON %I USING ((SELECT app_is(''mentor'')) AND wrote_critique(critique_id))
      WITH CHECK (wrote_critique(critique_id) AND now_teaches(critique_id))', t);
  END LOOP;
END $$;
ALTER POLICY seen ON answer USING (sees_critique(critique_id) AND (mentor_id = (SELECT app_person()) OR now_teaches(critique_id)));
ALTER POLICY keep ON suggestion WITH CHECK (mentor_id = (SELECT app_person()) AND wrote_critique(critique_id) AND now_teaches(critique_id)
  AND EXISTS (SELECT FROM critique c WHERE c.id = critique_id AND c.released_at IS NULL));
ALTER POLICY seen ON revision USING ((SELECT app_is('office')) OR shot_id IN (SELECT own_shots()));
ALTER POLICY told ON revision USING (id IN (SELECT t.revision_id FROM told_revisions() t));
ALTER POLICY taught ON footage USING (id IN (SELECT sent_footage()));
ALTER POLICY told ON footage USING (id IN (SELECT t.footage_id FROM told_revisions() t));
