CREATE TABLE upload (
  id uuid PRIMARY KEY,
  school_id uuid NOT NULL,
  person_id uuid NOT NULL,
  filename text NOT NULL CHECK (length(filename) BETWEEN 1 AND 255),
  length bigint NOT NULL CHECK (length >= 0),
  received bigint NOT NULL DEFAULT 0 CHECK (received >= 0 AND received <= length),
  state text NOT NULL DEFAULT 'receiving' CHECK (state IN ('receiving', 'probing', 'accepted', 'refused')),
  problem jsonb,
  -- one writer at a time; a later request takes over by writing its own token
  writer uuid,
  writer_until timestamptz,
  created_at timestamptz NOT NULL,
  expires_at timestamptz NOT NULL,
  UNIQUE (school_id, id),
  FOREIGN KEY (school_id, person_id) REFERENCES person (school_id, id) ON DELETE CASCADE
);
CREATE INDEX upload_by_person ON upload (school_id, person_id);

-- frame_pts: the source's exact timestamps in units of its time base; entry i is frame i. Null until prepared.
CREATE TABLE footage (
  id uuid PRIMARY KEY,
  school_id uuid NOT NULL,
  student_id uuid NOT NULL,
  upload_id uuid UNIQUE,
  filename text NOT NULL,
  source_key text NOT NULL,
  source_bytes bigint NOT NULL,
  probe jsonb NOT NULL,
  state text NOT NULL DEFAULT 'preparing' CHECK (state IN ('preparing', 'ready', 'failed', 'cancelled')),
  problem jsonb,
  progress real NOT NULL DEFAULT 0,
  width integer NOT NULL,
  height integer NOT NULL,
  frames integer NOT NULL CHECK (frames >= 0),
  fps_num integer NOT NULL CHECK (fps_num > 0),
  fps_den integer NOT NULL CHECK (fps_den > 0),
  variable boolean NOT NULL DEFAULT false,
  time_base_num integer,
  time_base_den integer,
  frame_pts bigint[],
  last_duration bigint,
  derived jsonb,
  recipe integer,
  created_at timestamptz NOT NULL,
  ready_at timestamptz,
  UNIQUE (school_id, id),
  CHECK (state <> 'ready' OR (frame_pts IS NOT NULL AND cardinality(frame_pts) = frames AND derived IS NOT NULL)),
  FOREIGN KEY (school_id, student_id) REFERENCES person (school_id, id) ON DELETE CASCADE
);
CREATE INDEX footage_by_student ON footage (school_id, student_id);
