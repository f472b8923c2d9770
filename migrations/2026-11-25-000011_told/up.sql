-- What the student was told is never rewritten, nor carried off into a draft where it could be: a change may touch neither a part of
-- a critique that is leaving or out, nor move one into it.
CREATE OR REPLACE FUNCTION refuse_after_release() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, public AS $$
DECLARE
  touched uuid[] := ARRAY[CASE WHEN TG_OP <> 'INSERT' THEN OLD.critique_id END, CASE WHEN TG_OP <> 'DELETE' THEN NEW.critique_id END];
  about uuid;
BEGIN
  SELECT c.id INTO about FROM public.critique c WHERE c.id = ANY (touched) AND c.released_at IS NOT NULL LIMIT 1;
  IF FOUND THEN
    RAISE EXCEPTION 'critique % is released', about USING ERRCODE = '23514', CONSTRAINT = 'critique_stands';
  END IF;
  RETURN CASE WHEN TG_OP = 'DELETE' THEN OLD ELSE NEW END;
END $$;
CREATE TRIGGER concern_stands BEFORE UPDATE OR DELETE ON concern FOR EACH ROW EXECUTE FUNCTION refuse_after_release();

-- The critique itself: once out, it stays as it is; while it is leaving it may be taken back or handed to another mentor.
CREATE FUNCTION keep_released() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
  after critique := CASE WHEN TG_OP = 'UPDATE' THEN NEW END;
BEGIN
  IF TG_OP = 'UPDATE' AND OLD.released_at > now() THEN
    after.mentor_id := OLD.mentor_id;
    IF NEW.released_at IS NULL THEN
      after.released_at := OLD.released_at;
    END IF;
  END IF;
  IF TG_OP = 'DELETE' OR after IS DISTINCT FROM OLD THEN
    RAISE EXCEPTION 'critique % is released', OLD.id USING ERRCODE = '23514', CONSTRAINT = 'critique_stands';
  END IF;
  RETURN NEW;
END $$;
CREATE TRIGGER critique_stands BEFORE UPDATE OR DELETE ON critique FOR EACH ROW WHEN (OLD.released_at IS NOT NULL) EXECUTE FUNCTION keep_released();

-- Nor does any of it vanish by the way that asks no row.
CREATE FUNCTION refuse_emptying() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION '% is not emptied', TG_TABLE_NAME USING ERRCODE = '42501';
END $$;
DO $$
DECLARE
  t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['critique', 'concern', 'note', 'verdict', 'stroke', 'trace', 'amendment', 'answer'] LOOP
    EXECUTE format('CREATE TRIGGER %I BEFORE TRUNCATE ON %I FOR EACH STATEMENT EXECUTE FUNCTION refuse_emptying()', t || '_whole', t);
  END LOOP;
END $$;

-- What happened to a submission happened: opened, withdrawn and given back are set once.
CREATE FUNCTION keep_outcome() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION 'what became of submission % stands', OLD.id USING ERRCODE = '23514', CONSTRAINT = 'submission_stands';
END $$;
CREATE TRIGGER submission_stands BEFORE UPDATE ON submission FOR EACH ROW
  WHEN (OLD.opened_at IS NOT NULL AND NEW.opened_at IS DISTINCT FROM OLD.opened_at
    OR OLD.withdrawn_at IS NOT NULL AND NEW.withdrawn_at IS DISTINCT FROM OLD.withdrawn_at
    OR OLD.returned_at IS NOT NULL AND NEW.returned_at IS DISTINCT FROM OLD.returned_at)
  EXECUTE FUNCTION keep_outcome();

-- The job of a release that was taken back goes along too: the new mentor's release makes it ready again.
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
