-- A mentor keeps what they told a student who has meanwhile another mentor: their own released critiques with what these are about,
-- to read and to search, not to add to. Of whatever came later they see nothing: not the student's answers, not the next revision.

-- Whom an answer was given to: the student's mentor at that time.
ALTER TABLE answer ADD COLUMN mentor_id uuid;
ALTER TABLE answer NO FORCE ROW LEVEL SECURITY;
ALTER TABLE critique NO FORCE ROW LEVEL SECURITY;
ALTER TABLE enrolment NO FORCE ROW LEVEL SECURITY;
UPDATE answer a SET mentor_id = e.mentor_id FROM critique c JOIN enrolment e ON e.id = c.enrolment_id WHERE c.id = a.critique_id;
ALTER TABLE answer FORCE ROW LEVEL SECURITY;
ALTER TABLE critique FORCE ROW LEVEL SECURITY;
ALTER TABLE enrolment FORCE ROW LEVEL SECURITY;
ALTER TABLE answer ALTER COLUMN mentor_id SET NOT NULL;
ALTER TABLE answer ADD CONSTRAINT answer_mentor_fkey FOREIGN KEY (school_id, mentor_id) REFERENCES person (school_id, id) ON DELETE CASCADE;

CREATE FUNCTION address_answer() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  SELECT e.mentor_id INTO NEW.mentor_id FROM critique c JOIN enrolment e ON e.id = c.enrolment_id WHERE c.id = NEW.critique_id;
  RETURN NEW;
END $$;
CREATE TRIGGER answer_addressed BEFORE INSERT OR UPDATE ON answer FOR EACH ROW EXECUTE FUNCTION address_answer();

DROP POLICY seen ON answer;
CREATE POLICY seen ON answer FOR SELECT TO refrain_app USING (critique_id IN (SELECT c.id FROM critique c)
  AND (mentor_id = app_person() OR critique_id IN (SELECT c.id FROM critique c JOIN enrolment e ON e.id = c.enrolment_id WHERE e.mentor_id = app_person())));

-- What an own critique is about. Revisions were seen with their shot; a shot seen for the sake of one critique shows that one's alone.
CREATE POLICY told ON shot FOR SELECT TO refrain_app
  USING (id IN (SELECT c.shot_id FROM critique c WHERE c.mentor_id = app_person() AND c.released_at <= now()));
CREATE POLICY told ON submission FOR SELECT TO refrain_app
  USING (id IN (SELECT c.submission_id FROM critique c WHERE c.mentor_id = app_person() AND c.released_at <= now()));
DROP POLICY seen ON revision;
CREATE POLICY seen ON revision FOR SELECT TO refrain_app USING (shot_id IN (SELECT s.id FROM shot s WHERE s.student_id = app_person() OR app_is('office')
  OR s.enrolment_id IN (SELECT e.id FROM enrolment e WHERE e.mentor_id = app_person())));
CREATE POLICY told ON revision FOR SELECT TO refrain_app
  USING (id IN (SELECT c.revision_id FROM critique c WHERE c.mentor_id = app_person() AND c.released_at <= now()));
CREATE POLICY told ON footage FOR SELECT TO refrain_app USING (id IN (SELECT r.footage_id FROM critique c JOIN revision r ON r.id = c.revision_id
  WHERE c.mentor_id = app_person() AND c.released_at <= now()));
CREATE POLICY told ON course FOR SELECT TO refrain_app USING (id IN (SELECT s.course_id FROM critique c JOIN shot s ON s.id = c.shot_id
  WHERE c.mentor_id = app_person() AND c.released_at <= now()));
CREATE POLICY told ON person FOR SELECT TO refrain_app
  USING (id IN (SELECT c.student_id FROM critique c WHERE c.mentor_id = app_person() AND c.released_at <= now()));

-- Written is for the student's present mentor alone.
DROP POLICY author ON critique;
CREATE POLICY author ON critique TO refrain_app USING (mentor_id = app_person())
  WITH CHECK (mentor_id = app_person() AND app_is('mentor') AND enrolment_id IN (SELECT e.id FROM enrolment e WHERE e.mentor_id = app_person()));
DO $$
DECLARE
  t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['concern', 'note', 'verdict', 'stroke', 'trace', 'amendment'] LOOP
    EXECUTE format('DROP POLICY author ON %I', t);
    EXECUTE format('CREATE POLICY author ON %I TO refrain_app USING (critique_id IN (SELECT c.id FROM critique c WHERE c.mentor_id = app_person()))
      WITH CHECK (critique_id IN (SELECT c.id FROM critique c JOIN enrolment e ON e.id = c.enrolment_id
        WHERE c.mentor_id = app_person() AND e.mentor_id = app_person()))', t);
  END LOOP;
END $$;

-- An answer given to a later mentor is the student's own, no more the critic's.
CREATE OR REPLACE VIEW archive_document WITH (security_invoker = true) AS
SELECT w.sort, w.id, c.school_id, c.enrolment_id, c.student_id, p.name AS student_name, c.id AS critique_id,
  CASE WHEN w.told_to IS NULL OR w.told_to = c.mentor_id THEN c.mentor_id ELSE c.student_id END AS critic_id,
  c.released_at AS visible_from, w.note_id, s.id AS shot_id, s.title AS shot_title, s.first_frame, r.number AS revision, r.footage_id,
  w.kind, w.principles, w.parts, w.span_start, w.span_end, w.words, w.at
FROM (
  SELECT 'note' AS sort, n.id, n.critique_id, n.id AS note_id, n.kind, n.principles, n.parts, n.span_start, n.span_end, n.words, n.updated_at AS at, NULL::uuid AS told_to
  FROM note n
  UNION ALL
  SELECT 'answer', a.note_id, a.critique_id, n.id, n.kind, n.principles, n.parts, n.span_start, n.span_end, a.words, a.updated_at, a.mentor_id
  FROM answer a JOIN note n ON n.id = a.note_id
  UNION ALL
  SELECT 'amendment', m.id, m.critique_id, m.note_id, n.kind, n.principles, n.parts, n.span_start, n.span_end, m.words, m.created_at, NULL::uuid
  FROM amendment m LEFT JOIN note n ON n.id = m.note_id
) w
JOIN critique c ON c.id = w.critique_id
JOIN shot s ON s.id = c.shot_id
JOIN revision r ON r.id = c.revision_id
JOIN person p ON p.id = c.student_id
WHERE w.words <> '';
