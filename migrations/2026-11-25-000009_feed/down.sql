DROP FUNCTION read_feed(bigint, text, uuid, bigint, integer);
DROP FUNCTION count_documents();
DROP FUNCTION feed_head();
DROP TRIGGER person_feeds ON person;
DROP TRIGGER shot_feeds ON shot;
DROP TRIGGER critique_feeds ON critique;
DROP FUNCTION feed_about();
DROP TRIGGER amendment_feeds ON amendment;
DROP TRIGGER answer_feeds ON answer;
DROP TRIGGER note_feeds ON note;
DROP FUNCTION feed_row();
DROP TABLE feed;
DROP VIEW archive_document;
DO $$
DECLARE
  t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['shot', 'note', 'answer', 'amendment'] LOOP
    EXECUTE format('DROP POLICY door ON %I', t);
    EXECUTE format('REVOKE SELECT ON %I FROM refrain_definer', t);
  END LOOP;
END $$;
