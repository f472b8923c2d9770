CREATE OR REPLACE FUNCTION move_enrolment(enrolment_given uuid, mentor_given uuid) RETURNS boolean
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
    WHERE j.kind = 'announce-critique' AND j.key = h.id::text;
  RETURN true;
END $$;
