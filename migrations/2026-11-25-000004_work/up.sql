-- A job acts as one person of one school; whoever works on it sees what that person sees.
CREATE TABLE job (
  id bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
  school_id uuid NOT NULL REFERENCES school (id) ON DELETE CASCADE,
  person_id uuid NOT NULL,
  kind text NOT NULL,
  key text NOT NULL,
  payload jsonb NOT NULL,
  state text NOT NULL DEFAULT 'ready' CHECK (state IN ('ready', 'running', 'done', 'failed', 'cancelled')),
  run_at timestamptz NOT NULL,
  attempt integer NOT NULL DEFAULT 0,
  max_attempts integer NOT NULL CHECK (max_attempts BETWEEN 1 AND 100),
  lease_token uuid,
  lease_until timestamptz,
  worker text,
  last_error text,
  created_at timestamptz NOT NULL DEFAULT clock_timestamp(),
  finished_at timestamptz,
  UNIQUE (kind, key),
  FOREIGN KEY (school_id, person_id) REFERENCES person (school_id, id) ON DELETE CASCADE
);
CREATE INDEX job_waiting ON job (run_at, id) WHERE state = 'ready';
CREATE INDEX job_leased ON job (lease_until) WHERE state = 'running';

CREATE FUNCTION announce_job() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  PERFORM pg_notify('job', '');
  RETURN NULL;
END $$;
CREATE TRIGGER job_announced AFTER INSERT ON job FOR EACH STATEMENT EXECUTE FUNCTION announce_job();

-- The outbox: bytes ready to be sent, under a Message-ID derived from what the mail is about.
CREATE TABLE mail (
  id uuid PRIMARY KEY,
  school_id uuid NOT NULL,
  person_id uuid NOT NULL,
  kind text NOT NULL,
  about uuid NOT NULL,
  message_id text NOT NULL UNIQUE,
  recipient text NOT NULL,
  subject text NOT NULL,
  body bytea NOT NULL CHECK (length(body) <= 1048576),
  state text NOT NULL DEFAULT 'queued' CHECK (state IN ('queued', 'sent', 'dead')),
  last_error text,
  created_at timestamptz NOT NULL,
  sent_at timestamptz,
  FOREIGN KEY (school_id, person_id) REFERENCES person (school_id, id) ON DELETE CASCADE
);
CREATE INDEX mail_by_time ON mail (school_id, created_at DESC, id);
CREATE INDEX mail_by_about ON mail (school_id, about);
