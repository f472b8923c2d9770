CREATE TABLE shot (
  id uuid PRIMARY KEY,
  school_id uuid NOT NULL,
  enrolment_id uuid NOT NULL,
  course_id uuid NOT NULL,
  student_id uuid NOT NULL,
  assignment_id uuid,
  title text NOT NULL CHECK (length(title) BETWEEN 1 AND 120),
  first_frame integer NOT NULL DEFAULT 1 CHECK (first_frame BETWEEN 0 AND 1000000),
  created_at timestamptz NOT NULL,
  UNIQUE (school_id, id),
  FOREIGN KEY (school_id, enrolment_id) REFERENCES enrolment (school_id, id) ON DELETE CASCADE,
  FOREIGN KEY (school_id, student_id) REFERENCES person (school_id, id) ON DELETE CASCADE,
  FOREIGN KEY (school_id, course_id, assignment_id) REFERENCES assignment (school_id, course_id, id) ON DELETE CASCADE
);
CREATE INDEX shot_by_enrolment ON shot (school_id, enrolment_id);
CREATE INDEX shot_by_student ON shot (school_id, student_id, created_at);

CREATE TABLE revision (
  id uuid PRIMARY KEY,
  school_id uuid NOT NULL,
  shot_id uuid NOT NULL,
  number integer NOT NULL CHECK (number >= 1),
  parent_id uuid,
  footage_id uuid NOT NULL,
  stage text NOT NULL CHECK (stage IN ('layout', 'blocking', 'blocking-plus', 'spline', 'polish')),
  created_at timestamptz NOT NULL,
  UNIQUE (school_id, id),
  UNIQUE (school_id, shot_id, number),
  UNIQUE (school_id, footage_id),
  FOREIGN KEY (school_id, shot_id) REFERENCES shot (school_id, id) ON DELETE CASCADE,
  FOREIGN KEY (school_id, parent_id) REFERENCES revision (school_id, id) ON DELETE CASCADE,
  FOREIGN KEY (school_id, footage_id) REFERENCES footage (school_id, id) ON DELETE CASCADE
);

CREATE TABLE submission (
  id uuid PRIMARY KEY,
  school_id uuid NOT NULL,
  enrolment_id uuid NOT NULL,
  student_id uuid NOT NULL,
  shot_id uuid NOT NULL,
  revision_id uuid NOT NULL,
  idem_key text NOT NULL CHECK (length(idem_key) BETWEEN 8 AND 200),
  request_hash bytea NOT NULL,
  words text NOT NULL CHECK (length(words) <= 4000),
  sent_at timestamptz NOT NULL,
  promised_on date NOT NULL,
  opened_at timestamptz,
  withdrawn_at timestamptz,
  returned_at timestamptz,
  return_reason text,
  UNIQUE (school_id, id),
  UNIQUE (school_id, revision_id),
  UNIQUE (school_id, enrolment_id, idem_key),
  CHECK (withdrawn_at IS NULL OR opened_at IS NULL),
  FOREIGN KEY (school_id, enrolment_id) REFERENCES enrolment (school_id, id) ON DELETE CASCADE,
  FOREIGN KEY (school_id, student_id) REFERENCES person (school_id, id) ON DELETE CASCADE,
  FOREIGN KEY (school_id, shot_id) REFERENCES shot (school_id, id) ON DELETE CASCADE,
  FOREIGN KEY (school_id, revision_id) REFERENCES revision (school_id, id) ON DELETE CASCADE
);
CREATE INDEX submission_by_enrolment ON submission (school_id, enrolment_id, sent_at);
CREATE INDEX submission_by_shot ON submission (school_id, shot_id);

CREATE TABLE quota_entry (
  id uuid PRIMARY KEY,
  school_id uuid NOT NULL,
  enrolment_id uuid NOT NULL,
  kind text NOT NULL CHECK (kind IN ('grant', 'spend', 'return', 'expire', 'adjust')),
  amount integer NOT NULL,
  submission_id uuid,
  reason text CHECK (length(reason) BETWEEN 1 AND 500),
  actor_id uuid NOT NULL,
  created_at timestamptz NOT NULL,
  CHECK (CASE kind
    WHEN 'spend' THEN amount = -1 AND submission_id IS NOT NULL
    WHEN 'return' THEN amount = 1 AND submission_id IS NOT NULL
    WHEN 'grant' THEN amount >= 0 AND submission_id IS NULL
    WHEN 'expire' THEN amount < 0 AND submission_id IS NULL
    ELSE amount <> 0 AND submission_id IS NULL AND reason IS NOT NULL END),
  FOREIGN KEY (school_id, enrolment_id) REFERENCES enrolment (school_id, id) ON DELETE CASCADE,
  FOREIGN KEY (school_id, submission_id) REFERENCES submission (school_id, id) ON DELETE CASCADE,
  FOREIGN KEY (school_id, actor_id) REFERENCES person (school_id, id) ON DELETE CASCADE
);
CREATE INDEX quota_entry_by_enrolment ON quota_entry (school_id, enrolment_id, created_at, id);
CREATE UNIQUE INDEX quota_one_spend ON quota_entry (submission_id) WHERE kind = 'spend';
CREATE UNIQUE INDEX quota_one_return ON quota_entry (submission_id) WHERE kind = 'return';

CREATE FUNCTION move_remaining() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, public AS $$
BEGIN
  UPDATE public.enrolment SET remaining = remaining + NEW.amount WHERE id = NEW.enrolment_id AND school_id = NEW.school_id;
  RETURN NULL;
END $$;
CREATE TRIGGER quota_entry_moves AFTER INSERT ON quota_entry FOR EACH ROW EXECUTE FUNCTION move_remaining();
CREATE TRIGGER quota_entry_kept BEFORE UPDATE OR DELETE ON quota_entry FOR EACH ROW EXECUTE FUNCTION refuse_change();
CREATE TRIGGER quota_entry_whole BEFORE TRUNCATE ON quota_entry FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

-- At commit: no submission without its one spend, its confirmation mail and its prepare job.
CREATE FUNCTION submission_is_whole() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, public AS $$
BEGIN
  IF NOT EXISTS (SELECT FROM public.quota_entry q WHERE q.submission_id = NEW.id AND q.kind = 'spend' AND q.enrolment_id = NEW.enrolment_id) THEN
    RAISE EXCEPTION 'submission % has no spend', NEW.id USING ERRCODE = '23514', CONSTRAINT = 'submission_spend';
  END IF;
  IF NOT EXISTS (SELECT FROM public.mail m WHERE m.school_id = NEW.school_id AND m.about = NEW.id AND m.kind = 'confirmation') THEN
    RAISE EXCEPTION 'submission % has no confirmation', NEW.id USING ERRCODE = '23514', CONSTRAINT = 'submission_confirmation';
  END IF;
  IF NOT EXISTS (SELECT FROM public.job j JOIN public.revision r ON r.id = NEW.revision_id WHERE j.kind = 'prepare' AND j.key = r.footage_id::text) THEN
    RAISE EXCEPTION 'submission % has no prepare job', NEW.id USING ERRCODE = '23514', CONSTRAINT = 'submission_prepare';
  END IF;
  RETURN NULL;
END $$;
CREATE CONSTRAINT TRIGGER submission_whole AFTER INSERT ON submission DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION submission_is_whole();
