-- The lists again.
ALTER POLICY seen ON answer USING (critique_id IN (SELECT c.id FROM critique c) AND (mentor_id = (SELECT app_person()) OR critique_id IN
  (SELECT c.id FROM critique c JOIN enrolment e ON e.id = c.enrolment_id WHERE e.mentor_id = (SELECT app_person()))));
ALTER POLICY keep ON suggestion WITH CHECK (mentor_id = (SELECT app_person()) AND critique_id IN
  (SELECT c.id FROM critique c JOIN enrolment e ON e.id = c.enrolment_id
    WHERE c.mentor_id = (SELECT app_person()) AND e.mentor_id = (SELECT app_person()) AND c.released_at IS NULL));
ALTER POLICY seen ON revision USING (shot_id IN (SELECT s.id FROM shot s WHERE s.student_id = (SELECT app_person()) OR (SELECT app_is('office'))
  OR s.enrolment_id IN (SELECT e.id FROM enrolment e WHERE e.mentor_id = (SELECT app_person()))));
ALTER POLICY told ON revision
  USING (id IN (SELECT c.revision_id FROM critique c WHERE c.mentor_id = (SELECT app_person()) AND c.released_at <= now()));
ALTER POLICY taught ON footage USING (id IN (SELECT r.footage_id FROM revision r JOIN shot s ON s.id = r.shot_id
  JOIN enrolment e ON e.id = s.enrolment_id WHERE e.mentor_id = (SELECT app_person())));
CREATE POLICY told ON footage FOR SELECT TO refrain_app USING (id IN (SELECT r.footage_id FROM critique c JOIN revision r ON r.id = c.revision_id
  WHERE c.mentor_id = (SELECT app_person()) AND c.released_at <= now()));
DO $$
DECLARE
  t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['concern', 'note', 'verdict', 'stroke', 'trace', 'amendment'] LOOP
    EXECUTE format('ALTER POLICY seen ON %I USING (critique_id IN (SELECT c.id FROM critique c))', t);
    EXECUTE format('ALTER POLICY author ON %I USING (critique_id IN (SELECT c.id FROM critique c WHERE c.mentor_id = (SELECT app_person())))
      WITH CHECK (critique_id IN (SELECT c.id FROM critique c JOIN enrolment e ON e.id = c.enrolment_id
        WHERE c.mentor_id = (SELECT app_person()) AND e.mentor_id = (SELECT app_person())))', t);
  END LOOP;
END $$;
DROP FUNCTION sees_critique(uuid), wrote_critique(uuid), now_teaches(uuid), own_shot(uuid), sees_sent_footage(uuid), told_of_revision(uuid, uuid);
