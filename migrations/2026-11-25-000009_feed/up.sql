-- What can be searched: notes, answers and amendments with words, seen by whoever sees their critique.
CREATE VIEW archive_document WITH (security_invoker = true) AS
SELECT w.sort, w.id, c.school_id, c.enrolment_id, c.student_id, p.name AS student_name, c.id AS critique_id, c.mentor_id AS critic_id,
  c.released_at AS visible_from, w.note_id, s.id AS shot_id, s.title AS shot_title, s.first_frame, r.number AS revision, r.footage_id,
  w.kind, w.principles, w.parts, w.span_start, w.span_end, w.words, w.at
FROM (
  SELECT 'note' AS sort, n.id, n.critique_id, n.id AS note_id, n.kind, n.principles, n.parts, n.span_start, n.span_end, n.words, n.updated_at AS at
  FROM note n
  UNION ALL
  SELECT 'answer', a.note_id, a.critique_id, n.id, n.kind, n.principles, n.parts, n.span_start, n.span_end, a.words, a.updated_at
  FROM answer a JOIN note n ON n.id = a.note_id
  UNION ALL
  SELECT 'amendment', m.id, m.critique_id, m.note_id, n.kind, n.principles, n.parts, n.span_start, n.span_end, m.words, m.created_at
  FROM amendment m LEFT JOIN note n ON n.id = m.note_id
) w
JOIN critique c ON c.id = w.critique_id
JOIN shot s ON s.id = c.shot_id
JOIN revision r ON r.id = c.revision_id
JOIN person p ON p.id = c.student_id
WHERE w.words <> '';
GRANT SELECT ON archive_document TO refrain_app, refrain_definer;

-- What the index follows: one line per note, answer and amendment that is or was, with the transaction that changed it last. A line
-- outlives its row (and its school), for the index has to hear of that too. Read only up to the oldest transaction still running:
-- all before it are over, so no change can turn up behind a position already passed.
CREATE TABLE feed (
  school_id uuid NOT NULL,
  sort text NOT NULL CHECK (sort IN ('note', 'answer', 'amendment')),
  id uuid NOT NULL,
  tx bigint NOT NULL,
  PRIMARY KEY (school_id, sort, id)
);
CREATE INDEX feed_by_tx ON feed (tx, sort, id);
ALTER TABLE feed ENABLE ROW LEVEL SECURITY;
ALTER TABLE feed FORCE ROW LEVEL SECURITY;
CREATE POLICY door ON feed TO refrain_definer USING (true) WITH CHECK (true);
GRANT SELECT, INSERT, UPDATE ON feed TO refrain_definer;

DO $$
DECLARE
  t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['shot', 'note', 'answer', 'amendment'] LOOP
    EXECUTE format('CREATE POLICY door ON %I FOR SELECT TO refrain_definer USING (true)', t);
    EXECUTE format('GRANT SELECT ON %I TO refrain_definer', t);
  END LOOP;
END $$;

-- A note, answer or amendment changed; an answer goes by the id of its note.
CREATE FUNCTION feed_row() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, public AS $$
DECLARE
  changed jsonb := to_jsonb(CASE WHEN TG_OP = 'DELETE' THEN OLD ELSE NEW END);
BEGIN
  INSERT INTO public.feed AS f (school_id, sort, id, tx)
    VALUES ((changed->>'school_id')::uuid, TG_TABLE_NAME, coalesce(changed->>'id', changed->>'note_id')::uuid, pg_current_xact_id()::text::bigint)
    ON CONFLICT (school_id, sort, id) DO UPDATE SET tx = EXCLUDED.tx WHERE f.tx <> EXCLUDED.tx;
  PERFORM pg_notify('feed', '');
  RETURN NULL;
END $$;
CREATE TRIGGER note_feeds AFTER INSERT OR UPDATE OR DELETE ON note FOR EACH ROW EXECUTE FUNCTION feed_row();
CREATE TRIGGER answer_feeds AFTER INSERT OR UPDATE OR DELETE ON answer FOR EACH ROW EXECUTE FUNCTION feed_row();
CREATE TRIGGER amendment_feeds AFTER INSERT OR UPDATE OR DELETE ON amendment FOR EACH ROW EXECUTE FUNCTION feed_row();

-- Something that documents show or are seen by changed: the release of a critique, a note's own place, a title, a name.
CREATE FUNCTION feed_about() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, public AS $$
BEGIN
  INSERT INTO public.feed AS f (school_id, sort, id, tx)
    SELECT d.school_id, d.sort, d.id, pg_current_xact_id()::text::bigint FROM public.archive_document d
    WHERE d.school_id = NEW.school_id AND CASE TG_TABLE_NAME
      WHEN 'critique' THEN d.critique_id = NEW.id
      WHEN 'shot' THEN d.shot_id = NEW.id
      ELSE d.student_id = NEW.id END
    ORDER BY d.sort, d.id
    ON CONFLICT (school_id, sort, id) DO UPDATE SET tx = EXCLUDED.tx WHERE f.tx <> EXCLUDED.tx;
  PERFORM pg_notify('feed', '');
  RETURN NULL;
END $$;
CREATE TRIGGER critique_feeds AFTER UPDATE ON critique FOR EACH ROW WHEN (OLD.released_at IS DISTINCT FROM NEW.released_at) EXECUTE FUNCTION feed_about();
CREATE TRIGGER shot_feeds AFTER UPDATE ON shot FOR EACH ROW
  WHEN (OLD.title IS DISTINCT FROM NEW.title OR OLD.first_frame IS DISTINCT FROM NEW.first_frame) EXECUTE FUNCTION feed_about();
CREATE TRIGGER person_feeds AFTER UPDATE ON person FOR EACH ROW WHEN (OLD.name IS DISTINCT FROM NEW.name) EXECUTE FUNCTION feed_about();

-- Which history this is (a restored or copied database is another one), how far it can be read, and whether more has been
-- written beyond that.
CREATE FUNCTION feed_head() RETURNS TABLE (source text, head bigint, pending boolean)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, public AS $$
  SELECT concat_ws('/', (SELECT system_identifier FROM pg_control_system()), (SELECT timeline_id FROM pg_control_checkpoint()),
      (SELECT oid FROM pg_database WHERE datname = current_database())),
    oldest - 1, EXISTS (SELECT FROM public.feed f WHERE f.tx >= oldest)
  FROM (SELECT pg_snapshot_xmin(pg_current_snapshot())::text::bigint AS oldest) s $$;

-- How many documents an index of everything holds.
CREATE FUNCTION count_documents() RETURNS TABLE (n bigint)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, public AS $$ SELECT count(*) FROM public.archive_document $$;

-- The lines after a place in the order of transactions, each with its document as it is now; without one it is gone.
-- OFFSET 0 keeps the planner to one look by key for each line, where it would read all notes for the sake of one.
CREATE FUNCTION read_feed(after_tx bigint, after_sort text, after_id uuid, up_to bigint, at_most integer)
RETURNS TABLE (tx bigint, feed_sort text, feed_id uuid, school_id uuid, enrolment_id uuid, student_id uuid, student_name text, critique_id uuid, critic_id uuid,
  visible_from timestamptz, note_id uuid, shot_id uuid, shot_title text, first_frame integer, revision integer, footage_id uuid,
  kind text, principles text[], parts jsonb, span_start integer, span_end integer, words text, at timestamptz)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, public AS $$
  SELECT f.tx, f.sort, f.id, d.school_id, d.enrolment_id, d.student_id, d.student_name, d.critique_id, d.critic_id,
    d.visible_from, d.note_id, d.shot_id, d.shot_title, d.first_frame, d.revision, d.footage_id,
    d.kind, d.principles, d.parts, d.span_start, d.span_end, d.words, d.at
  FROM (SELECT * FROM public.feed WHERE (feed.tx, feed.sort, feed.id) > (after_tx, after_sort, after_id) AND feed.tx <= up_to
    ORDER BY feed.tx, feed.sort, feed.id LIMIT at_most) f
  LEFT JOIN LATERAL (SELECT * FROM public.archive_document a WHERE a.sort = f.sort AND a.id = f.id OFFSET 0) d ON true
  ORDER BY f.tx, f.sort, f.id $$;

DO $$
DECLARE
  f text;
BEGIN
  FOREACH f IN ARRAY ARRAY['feed_row()', 'feed_about()', 'feed_head()', 'count_documents()', 'read_feed(bigint, text, uuid, bigint, integer)'] LOOP
    EXECUTE format('ALTER FUNCTION %s OWNER TO refrain_definer', f);
    EXECUTE format('REVOKE ALL ON FUNCTION %s FROM PUBLIC', f);
    EXECUTE format('GRANT EXECUTE ON FUNCTION %s TO refrain_app', f);
  END LOOP;
END $$;
