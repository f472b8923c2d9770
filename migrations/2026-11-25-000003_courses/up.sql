CREATE TABLE course (
  id uuid PRIMARY KEY,
  school_id uuid NOT NULL REFERENCES school (id) ON DELETE CASCADE,
  name text NOT NULL CHECK (length(name) BETWEEN 1 AND 120),
  brief text NOT NULL CHECK (length(brief) <= 8000),
  granted integer NOT NULL CHECK (granted BETWEEN 0 AND 1000),
  promise_days integer NOT NULL CHECK (promise_days BETWEEN 1 AND 365),
  created_at timestamptz NOT NULL,
  UNIQUE (school_id, id),
  UNIQUE (school_id, name)
);

CREATE TABLE assignment (
  id uuid PRIMARY KEY,
  school_id uuid NOT NULL,
  course_id uuid NOT NULL,
  title text NOT NULL CHECK (length(title) BETWEEN 1 AND 120),
  brief text NOT NULL CHECK (length(brief) <= 8000),
  created_at timestamptz NOT NULL,
  UNIQUE (school_id, course_id, id),
  FOREIGN KEY (school_id, course_id) REFERENCES course (school_id, id) ON DELETE CASCADE
);

-- remaining moves only by the ledger's trigger; the check is what lets exactly one of two racing sends have the last one.
CREATE TABLE enrolment (
  id uuid PRIMARY KEY,
  school_id uuid NOT NULL,
  course_id uuid NOT NULL,
  student_id uuid NOT NULL,
  mentor_id uuid NOT NULL,
  starts_on date NOT NULL,
  remaining integer NOT NULL DEFAULT 0 CONSTRAINT quota_left CHECK (remaining >= 0),
  created_at timestamptz NOT NULL,
  UNIQUE (school_id, id),
  UNIQUE (school_id, course_id, student_id),
  FOREIGN KEY (school_id, course_id) REFERENCES course (school_id, id) ON DELETE CASCADE,
  FOREIGN KEY (school_id, student_id) REFERENCES person (school_id, id) ON DELETE CASCADE,
  FOREIGN KEY (school_id, mentor_id) REFERENCES person (school_id, id) ON DELETE CASCADE
);
CREATE INDEX enrolment_by_mentor ON enrolment (school_id, mentor_id);
CREATE INDEX enrolment_by_student ON enrolment (school_id, student_id);
