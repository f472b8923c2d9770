-- What was proposed to a mentor while a note was typed and stood before them when they took it or left the note: once a note, field and
-- value, however often the note is saved. What became of it is not written here: the released note says it, and that note stands.
CREATE TABLE suggestion (
  note_id uuid NOT NULL,
  field text NOT NULL CHECK (field IN ('principle', 'part', 'kind', 'urgency', 'ask', 'concern', 'reversal')),
  value jsonb NOT NULL CHECK (length(value::text) <= 200),
  school_id uuid NOT NULL,
  critique_id uuid NOT NULL,
  mentor_id uuid NOT NULL,
  -- What the note said in that field when it was proposed.
  before jsonb CHECK (length(before::text) <= 2000),
  score real CHECK (score BETWEEN 0 AND 1),
  lexicon text NOT NULL CHECK (length(lexicon) BETWEEN 1 AND 40),
  weights text NOT NULL CHECK (length(weights) BETWEEN 1 AND 40),
  created_at timestamptz NOT NULL,
  PRIMARY KEY (note_id, field, value),
  FOREIGN KEY (school_id, critique_id) REFERENCES critique (school_id, id) ON DELETE CASCADE,
  FOREIGN KEY (school_id, mentor_id) REFERENCES person (school_id, id) ON DELETE CASCADE
);
CREATE INDEX suggestion_by_mentor ON suggestion (school_id, mentor_id);
CREATE INDEX suggestion_by_critique ON suggestion (school_id, critique_id);
CREATE TRIGGER suggestion_kept BEFORE UPDATE OR DELETE ON suggestion FOR EACH ROW EXECUTE FUNCTION refuse_change();
CREATE TRIGGER suggestion_whole BEFORE TRUNCATE ON suggestion FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

-- Whoever it was proposed to, and nobody else; written only into an own draft.
ALTER TABLE suggestion ENABLE ROW LEVEL SECURITY;
ALTER TABLE suggestion FORCE ROW LEVEL SECURITY;
CREATE POLICY tenant ON suggestion AS RESTRICTIVE TO refrain_app USING (school_id = app_school()) WITH CHECK (school_id = app_school());
CREATE POLICY own ON suggestion FOR SELECT TO refrain_app USING (mentor_id = app_person());
CREATE POLICY keep ON suggestion FOR INSERT TO refrain_app WITH CHECK (mentor_id = app_person() AND critique_id IN
  (SELECT c.id FROM critique c JOIN enrolment e ON e.id = c.enrolment_id
    WHERE c.mentor_id = app_person() AND e.mentor_id = app_person() AND c.released_at IS NULL));
GRANT SELECT, INSERT ON suggestion TO refrain_app;

-- What became of each, once its critique is out. Of what a note may say several of (principles, parts) something else counts as put in
-- its place only if it was not proposed itself.
CREATE VIEW suggestion_outcome WITH (security_invoker = true) AS
SELECT s.school_id, s.mentor_id, s.note_id, s.critique_id, s.field, s.value, s.score, s.lexicon, s.weights, s.created_at, c.released_at, o.said,
  CASE WHEN o.taken THEN 'taken' WHEN o.instead THEN 'changed' ELSE 'refused' END AS outcome
FROM suggestion s
JOIN critique c ON c.id = s.critique_id AND c.released_at <= now()
JOIN note n ON n.id = s.note_id AND n.critique_id = s.critique_id
JOIN concern k ON k.id = n.concern_id
CROSS JOIN LATERAL (SELECT CASE s.field
    WHEN 'principle' THEN to_jsonb(n.principles)
    WHEN 'part' THEN n.parts
    WHEN 'kind' THEN to_jsonb(n.kind)
    WHEN 'urgency' THEN to_jsonb(n.urgency)
    WHEN 'ask' THEN n.ask
    WHEN 'concern' THEN CASE WHEN k.critique_id <> n.critique_id THEN to_jsonb(n.concern_id) END
    ELSE (SELECT to_jsonb(v.concern_id) FROM verdict v
      WHERE v.critique_id = n.critique_id AND to_jsonb(v.concern_id) = s.value AND v.judged IN ('set-aside', 'cleared'))
  END AS said) e
CROSS JOIN LATERAL (SELECT e.said,
  CASE WHEN s.field IN ('principle', 'part') THEN e.said @> jsonb_build_array(s.value) ELSE coalesce(e.said = s.value, false) END AS taken,
  CASE WHEN s.field IN ('principle', 'part') THEN EXISTS (
      SELECT FROM jsonb_array_elements(e.said) other
      WHERE NOT coalesce(s.before, '[]') @> jsonb_build_array(other)
        AND NOT EXISTS (SELECT FROM suggestion p WHERE p.note_id = s.note_id AND p.field = s.field AND p.value = other))
    ELSE e.said IS NOT NULL AND e.said IS DISTINCT FROM s.before END AS instead) o;
GRANT SELECT ON suggestion_outcome TO refrain_app;
