CREATE OR REPLACE VIEW archive_document WITH (security_invoker = true) AS
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

DO $$
DECLARE
  t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['concern', 'note', 'verdict', 'stroke', 'trace', 'amendment'] LOOP
    EXECUTE format('DROP POLICY author ON %I', t);
    EXECUTE format('CREATE POLICY author ON %I TO refrain_app USING (critique_id IN (SELECT c.id FROM critique c WHERE c.mentor_id = app_person()))', t);
  END LOOP;
  FOREACH t IN ARRAY ARRAY['shot', 'submission', 'revision', 'footage', 'course', 'person'] LOOP
    EXECUTE format('DROP POLICY told ON %I', t);
  END LOOP;
END $$;
DROP POLICY author ON critique;
CREATE POLICY author ON critique TO refrain_app USING (mentor_id = app_person()) WITH CHECK (mentor_id = app_person() AND app_is('mentor'));
DROP POLICY seen ON revision;
CREATE POLICY seen ON revision FOR SELECT TO refrain_app USING (shot_id IN (SELECT s.id FROM shot s));
DROP POLICY seen ON answer;
CREATE POLICY seen ON answer FOR SELECT TO refrain_app USING (critique_id IN (SELECT c.id FROM critique c));
DROP TRIGGER answer_addressed ON answer;
DROP FUNCTION address_answer();
ALTER TABLE answer DROP COLUMN mentor_id;
