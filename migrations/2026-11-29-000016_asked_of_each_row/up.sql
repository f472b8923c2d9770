-- Whether a row that hangs on a critique or a shot may be seen is asked of these, not looked up in the list of all that may be: that
-- list, with the policies of its own tables, cost more than everything else a page of a large school reads, and was planned with every
-- statement. What the policies admit stays what it was.
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

-- Its student and their present mentor.
CREATE FUNCTION own_shot(shot_given uuid) RETURNS boolean
LANGUAGE plpgsql STABLE SECURITY DEFINER COST 500 SET search_path = pg_catalog, public AS $$
BEGIN
  RETURN EXISTS (SELECT FROM public.shot s WHERE s.id = shot_given AND s.school_id = public.app_school() AND (s.student_id = public.app_person()
    OR EXISTS (SELECT FROM public.enrolment e WHERE e.id = s.enrolment_id AND e.mentor_id = public.app_person())));
END $$;

-- Who has told a student something about a revision keeps it, and its footage, whoever teaches them now.
CREATE FUNCTION told_of_revision(shot_given uuid, revision_given uuid) RETURNS boolean
LANGUAGE plpgsql STABLE SECURITY DEFINER COST 500 SET search_path = pg_catalog, public AS $$
BEGIN
  RETURN EXISTS (SELECT FROM public.critique c WHERE c.school_id = public.app_school() AND c.shot_id = shot_given
    AND c.revision_id = revision_given AND c.mentor_id = public.app_person() AND c.released_at <= now());
END $$;

-- Footage that was sent: the student's present mentor, and who has told them something about it.
CREATE FUNCTION sees_sent_footage(footage_given uuid) RETURNS boolean
LANGUAGE plpgsql STABLE SECURITY DEFINER COST 500 SET search_path = pg_catalog, public AS $$
BEGIN
  RETURN EXISTS (SELECT FROM public.revision r JOIN public.shot s ON s.id = r.shot_id JOIN public.enrolment e ON e.id = s.enrolment_id
    WHERE r.school_id = public.app_school() AND r.footage_id = footage_given
      AND (e.mentor_id = public.app_person() OR public.told_of_revision(r.shot_id, r.id)));
END $$;

DO $$
DECLARE
  f text;
BEGIN
  FOREACH f IN ARRAY ARRAY['sees_critique(uuid)', 'wrote_critique(uuid)', 'now_teaches(uuid)', 'own_shot(uuid)',
    'told_of_revision(uuid, uuid)', 'sees_sent_footage(uuid)'] LOOP
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
ALTER POLICY seen ON revision USING ((SELECT app_is('office')) OR own_shot(shot_id));
ALTER POLICY told ON revision USING ((SELECT app_is('mentor')) AND told_of_revision(shot_id, id));
ALTER POLICY taught ON footage USING ((SELECT app_is('mentor')) AND sees_sent_footage(id));
DROP POLICY told ON footage;
