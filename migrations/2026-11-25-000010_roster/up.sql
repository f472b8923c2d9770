-- The office moves a student to another mentor without ever seeing a critique: whatever is not released yet goes along, with the
-- job that would announce it, so that a draft is neither lost nor out of anybody's reach.
GRANT UPDATE (mentor_id) ON enrolment, critique TO refrain_definer;

CREATE FUNCTION move_enrolment(enrolment_given uuid, mentor_given uuid) RETURNS boolean
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, public AS $$
BEGIN
  IF NOT public.app_is('office') THEN
    RAISE EXCEPTION 'only the office moves students' USING ERRCODE = '42501';
  END IF;
  UPDATE public.enrolment e SET mentor_id = mentor_given
    WHERE e.id = enrolment_given AND e.school_id = public.app_school()
      AND EXISTS (SELECT FROM public.person p WHERE p.id = mentor_given AND p.school_id = e.school_id AND 'mentor' = ANY (p.roles));
  IF NOT FOUND THEN
    RETURN false;
  END IF;
  WITH handed AS (
    UPDATE public.critique c SET mentor_id = mentor_given
      WHERE c.enrolment_id = enrolment_given AND c.mentor_id <> mentor_given AND (c.released_at IS NULL OR c.released_at > now())
      RETURNING c.id)
  UPDATE public.job j SET person_id = mentor_given FROM handed h
    WHERE j.kind = 'announce-critique' AND j.key = h.id::text AND j.state IN ('ready', 'running');
  RETURN true;
END $$;

-- What is searchable for its author follows the critique to the new one.
CREATE TRIGGER critique_handed_feeds AFTER UPDATE ON critique FOR EACH ROW
  WHEN (OLD.mentor_id IS DISTINCT FROM NEW.mentor_id) EXECUTE FUNCTION feed_about();

-- How many submissions still wait for a released critique: a number the office may know without seeing critiques.
CREATE FUNCTION count_waiting(enrolment_given uuid) RETURNS bigint
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, public AS $$
  SELECT count(*) FROM public.submission s
  WHERE s.school_id = public.app_school() AND s.enrolment_id = enrolment_given AND s.withdrawn_at IS NULL AND s.returned_at IS NULL
    AND NOT EXISTS (SELECT FROM public.critique c WHERE c.school_id = s.school_id AND c.submission_id = s.id AND c.released_at <= now()) $$;

DO $$
DECLARE
  f text;
BEGIN
  FOREACH f IN ARRAY ARRAY['move_enrolment(uuid, uuid)', 'count_waiting(uuid)'] LOOP
    EXECUTE format('ALTER FUNCTION %s OWNER TO refrain_definer', f);
    EXECUTE format('REVOKE ALL ON FUNCTION %s FROM PUBLIC', f);
    EXECUTE format('GRANT EXECUTE ON FUNCTION %s TO refrain_app', f);
  END LOOP;
END $$;
