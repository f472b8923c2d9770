-- released_at in the future: the mentor may still take it back; the student sees nothing until it has passed.
CREATE TABLE critique (
  id uuid PRIMARY KEY,
  school_id uuid NOT NULL,
  enrolment_id uuid NOT NULL,
  submission_id uuid NOT NULL,
  revision_id uuid NOT NULL,
  shot_id uuid NOT NULL,
  student_id uuid NOT NULL,
  mentor_id uuid NOT NULL,
  summary text NOT NULL DEFAULT '' CHECK (length(summary) <= 8000),
  version integer NOT NULL DEFAULT 1,
  created_at timestamptz NOT NULL,
  released_at timestamptz,
  UNIQUE (school_id, id),
  UNIQUE (school_id, submission_id),
  FOREIGN KEY (school_id, enrolment_id) REFERENCES enrolment (school_id, id) ON DELETE CASCADE,
  FOREIGN KEY (school_id, submission_id) REFERENCES submission (school_id, id) ON DELETE CASCADE,
  FOREIGN KEY (school_id, revision_id) REFERENCES revision (school_id, id) ON DELETE CASCADE,
  FOREIGN KEY (school_id, shot_id) REFERENCES shot (school_id, id) ON DELETE CASCADE,
  FOREIGN KEY (school_id, student_id) REFERENCES person (school_id, id) ON DELETE CASCADE,
  FOREIGN KEY (school_id, mentor_id) REFERENCES person (school_id, id) ON DELETE CASCADE
);
CREATE INDEX critique_by_shot ON critique (school_id, shot_id);
CREATE INDEX critique_by_mentor ON critique (school_id, mentor_id);
CREATE INDEX critique_by_student ON critique (school_id, student_id, released_at);

CREATE TABLE concern (
  id uuid PRIMARY KEY,
  school_id uuid NOT NULL,
  shot_id uuid NOT NULL,
  student_id uuid NOT NULL,
  critique_id uuid NOT NULL,
  created_at timestamptz NOT NULL,
  UNIQUE (school_id, shot_id, id),
  FOREIGN KEY (school_id, shot_id) REFERENCES shot (school_id, id) ON DELETE CASCADE,
  FOREIGN KEY (school_id, student_id) REFERENCES person (school_id, id) ON DELETE CASCADE,
  FOREIGN KEY (school_id, critique_id) REFERENCES critique (school_id, id) ON DELETE CASCADE
);

CREATE TABLE note (
  id uuid PRIMARY KEY,
  school_id uuid NOT NULL,
  critique_id uuid NOT NULL,
  concern_id uuid NOT NULL,
  revision_id uuid NOT NULL,
  shot_id uuid NOT NULL,
  student_id uuid NOT NULL,
  kind text NOT NULL CHECK (kind IN ('fix', 'consider', 'keep', 'question')),
  urgency text NOT NULL CHECK (urgency IN ('must', 'should', 'if-time')),
  principles text[] NOT NULL,
  parts jsonb NOT NULL,
  span_start integer NOT NULL CHECK (span_start >= 0),
  span_end integer NOT NULL CHECK (span_end >= span_start),
  region jsonb,
  words text NOT NULL CHECK (length(words) <= 8000),
  ask jsonb,
  version integer NOT NULL DEFAULT 1,
  created_at timestamptz NOT NULL,
  updated_at timestamptz NOT NULL,
  UNIQUE (school_id, id),
  UNIQUE (school_id, critique_id, id),
  FOREIGN KEY (school_id, critique_id) REFERENCES critique (school_id, id) ON DELETE CASCADE,
  FOREIGN KEY (school_id, shot_id, concern_id) REFERENCES concern (school_id, shot_id, id) ON DELETE CASCADE,
  FOREIGN KEY (school_id, revision_id) REFERENCES revision (school_id, id) ON DELETE CASCADE,
  FOREIGN KEY (school_id, student_id) REFERENCES person (school_id, id) ON DELETE CASCADE
);
CREATE INDEX note_by_concern ON note (school_id, concern_id);
CREATE INDEX note_by_shot ON note (school_id, shot_id);

CREATE TABLE verdict (
  critique_id uuid NOT NULL,
  concern_id uuid NOT NULL,
  school_id uuid NOT NULL,
  shot_id uuid NOT NULL,
  judged text NOT NULL CHECK (judged IN ('still', 'eased', 'cleared', 'set-aside')),
  version integer NOT NULL DEFAULT 1,
  updated_at timestamptz NOT NULL,
  PRIMARY KEY (critique_id, concern_id),
  FOREIGN KEY (school_id, critique_id) REFERENCES critique (school_id, id) ON DELETE CASCADE,
  FOREIGN KEY (school_id, shot_id, concern_id) REFERENCES concern (school_id, shot_id, id) ON DELETE CASCADE
);
CREATE INDEX verdict_by_shot ON verdict (school_id, shot_id, concern_id);

CREATE TABLE stroke (
  id uuid PRIMARY KEY,
  school_id uuid NOT NULL,
  critique_id uuid NOT NULL,
  note_id uuid,
  frame integer NOT NULL CHECK (frame >= 0),
  hold_to integer NOT NULL CHECK (hold_to >= frame),
  color text NOT NULL CHECK (color ~ '^#[0-9a-f]{6}$'),
  size real NOT NULL CHECK (size > 0 AND size <= 0.5),
  pen boolean NOT NULL,
  points jsonb NOT NULL CHECK (length(points::text) <= 400000),
  created_at timestamptz NOT NULL,
  FOREIGN KEY (school_id, critique_id) REFERENCES critique (school_id, id) ON DELETE CASCADE,
  FOREIGN KEY (school_id, critique_id, note_id) REFERENCES note (school_id, critique_id, id) ON DELETE CASCADE
);
CREATE INDEX stroke_by_critique ON stroke (school_id, critique_id);

CREATE TABLE trace (
  id uuid PRIMARY KEY,
  school_id uuid NOT NULL,
  critique_id uuid NOT NULL,
  part jsonb,
  color text NOT NULL CHECK (color ~ '^#[0-9a-f]{6}$'),
  dots jsonb NOT NULL CHECK (length(dots::text) <= 400000),
  created_at timestamptz NOT NULL,
  updated_at timestamptz NOT NULL,
  FOREIGN KEY (school_id, critique_id) REFERENCES critique (school_id, id) ON DELETE CASCADE
);
CREATE INDEX trace_by_critique ON trace (school_id, critique_id);

CREATE TABLE amendment (
  id uuid PRIMARY KEY,
  school_id uuid NOT NULL,
  critique_id uuid NOT NULL,
  note_id uuid,
  author_id uuid NOT NULL,
  words text NOT NULL CHECK (length(words) BETWEEN 1 AND 8000),
  created_at timestamptz NOT NULL,
  FOREIGN KEY (school_id, critique_id) REFERENCES critique (school_id, id) ON DELETE CASCADE,
  FOREIGN KEY (school_id, critique_id, note_id) REFERENCES note (school_id, critique_id, id) ON DELETE CASCADE,
  FOREIGN KEY (school_id, author_id) REFERENCES person (school_id, id) ON DELETE CASCADE
);
CREATE INDEX amendment_by_critique ON amendment (school_id, critique_id);

CREATE TABLE answer (
  note_id uuid PRIMARY KEY,
  school_id uuid NOT NULL,
  critique_id uuid NOT NULL,
  student_id uuid NOT NULL,
  kind text NOT NULL CHECK (kind IN ('will-do', 'done', 'leaving')),
  words text NOT NULL CHECK (length(words) <= 4000),
  updated_at timestamptz NOT NULL,
  FOREIGN KEY (school_id, critique_id, note_id) REFERENCES note (school_id, critique_id, id) ON DELETE CASCADE,
  FOREIGN KEY (school_id, student_id) REFERENCES person (school_id, id) ON DELETE CASCADE
);
CREATE INDEX answer_by_critique ON answer (school_id, critique_id);

-- What the student was told is never rewritten: while a critique is leaving or released, its parts stand.
CREATE FUNCTION refuse_after_release() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, public AS $$
DECLARE
  about uuid := CASE WHEN TG_OP = 'DELETE' THEN OLD.critique_id ELSE NEW.critique_id END;
BEGIN
  IF EXISTS (SELECT FROM public.critique c WHERE c.id = about AND c.released_at IS NOT NULL) THEN
    RAISE EXCEPTION 'critique % is released', about USING ERRCODE = '23514', CONSTRAINT = 'critique_stands';
  END IF;
  RETURN CASE WHEN TG_OP = 'DELETE' THEN OLD ELSE NEW END;
END $$;
CREATE TRIGGER note_stands BEFORE INSERT OR UPDATE OR DELETE ON note FOR EACH ROW EXECUTE FUNCTION refuse_after_release();
CREATE TRIGGER verdict_stands BEFORE INSERT OR UPDATE OR DELETE ON verdict FOR EACH ROW EXECUTE FUNCTION refuse_after_release();
CREATE TRIGGER stroke_stands BEFORE INSERT OR UPDATE OR DELETE ON stroke FOR EACH ROW EXECUTE FUNCTION refuse_after_release();
CREATE TRIGGER trace_stands BEFORE INSERT OR UPDATE OR DELETE ON trace FOR EACH ROW EXECUTE FUNCTION refuse_after_release();
CREATE TRIGGER amendment_kept BEFORE UPDATE OR DELETE ON amendment FOR EACH ROW EXECUTE FUNCTION refuse_change();
