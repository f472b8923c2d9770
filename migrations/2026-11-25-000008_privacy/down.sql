DO $$
DECLARE
  p record;
  f text;
BEGIN
  FOR p IN SELECT tablename, policyname FROM pg_policies WHERE schemaname = 'public' LOOP
    EXECUTE format('DROP POLICY %I ON %I', p.policyname, p.tablename);
  END LOOP;
  FOR p IN SELECT relname FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind = 'r' AND relrowsecurity LOOP
    EXECUTE format('ALTER TABLE %I NO FORCE ROW LEVEL SECURITY', p.relname);
    EXECUTE format('ALTER TABLE %I DISABLE ROW LEVEL SECURITY', p.relname);
    EXECUTE format('REVOKE ALL ON %I FROM refrain_app, refrain_definer', p.relname);
  END LOOP;
  FOREACH f IN ARRAY ARRAY['move_remaining()', 'submission_is_whole()', 'refuse_after_release()'] LOOP
    EXECUTE format('ALTER FUNCTION %s OWNER TO refrain_ddl', f);
    EXECUTE format('REVOKE ALL ON FUNCTION %s FROM refrain_app', f);
    EXECUTE format('GRANT EXECUTE ON FUNCTION %s TO PUBLIC', f);
  END LOOP;
END $$;
DROP FUNCTION work_state();
DROP FUNCTION claim_job(text, integer, text[]);
DROP FUNCTION end_old_sessions(timestamptz, interval, interval);
DROP FUNCTION find_link(bytea, timestamptz);
DROP FUNCTION find_session(bytea, timestamptz, interval, interval);
DROP FUNCTION find_account(text, text);
DROP FUNCTION find_school(text);
