CREATE TABLE school (
  id uuid PRIMARY KEY,
  slug text NOT NULL UNIQUE CHECK (slug ~ '^[a-z0-9][a-z0-9-]{1,62}$'),
  name text NOT NULL CHECK (length(name) BETWEEN 1 AND 120),
  time_zone text NOT NULL,
  created_at timestamptz NOT NULL
);

CREATE TABLE person (
  id uuid PRIMARY KEY,
  school_id uuid NOT NULL REFERENCES school (id) ON DELETE CASCADE,
  email text NOT NULL CHECK (length(email) BETWEEN 3 AND 254 AND email = lower(email)),
  name text NOT NULL CHECK (length(name) BETWEEN 1 AND 120),
  roles text[] NOT NULL CHECK (cardinality(roles) > 0 AND roles <@ ARRAY['mentor', 'student', 'office']),
  preferences jsonb NOT NULL DEFAULT '{}' CHECK (length(preferences::text) <= 16384),
  invited_at timestamptz,
  joined_at timestamptz,
  created_at timestamptz NOT NULL,
  UNIQUE (school_id, id),
  UNIQUE (school_id, email)
);
CREATE INDEX person_by_name ON person (school_id, lower(name), id);

CREATE TABLE credential (
  person_id uuid PRIMARY KEY,
  school_id uuid NOT NULL,
  password_hash text NOT NULL,
  changed_at timestamptz NOT NULL,
  FOREIGN KEY (school_id, person_id) REFERENCES person (school_id, id) ON DELETE CASCADE
);

CREATE TABLE session (
  token_hash bytea PRIMARY KEY CHECK (length(token_hash) = 32),
  school_id uuid NOT NULL,
  person_id uuid NOT NULL,
  created_at timestamptz NOT NULL,
  seen_at timestamptz NOT NULL,
  FOREIGN KEY (school_id, person_id) REFERENCES person (school_id, id) ON DELETE CASCADE
);
CREATE INDEX session_by_person ON session (school_id, person_id);

CREATE TABLE access_link (
  token_hash bytea PRIMARY KEY CHECK (length(token_hash) = 32),
  school_id uuid NOT NULL,
  person_id uuid NOT NULL,
  purpose text NOT NULL CHECK (purpose IN ('invitation', 'reset')),
  created_at timestamptz NOT NULL,
  expires_at timestamptz NOT NULL,
  used_at timestamptz,
  FOREIGN KEY (school_id, person_id) REFERENCES person (school_id, id) ON DELETE CASCADE
);
CREATE INDEX access_link_by_person ON access_link (school_id, person_id);
