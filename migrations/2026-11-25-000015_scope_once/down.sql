DO $$
DECLARE
  p record;
  once CONSTANT text := '\( SELECT (app_school\(\)|app_person\(\)|app_is\(''[a-z]+''::text\)) AS [a-z_]+\)';
BEGIN
  FOR p IN SELECT tablename, policyname, qual, with_check FROM pg_policies WHERE schemaname = 'public' AND 'refrain_app' = ANY (roles) LOOP
    EXECUTE format('ALTER POLICY %I ON %I', p.policyname, p.tablename)
      || coalesce(' USING (' || regexp_replace(p.qual, once, '\1', 'g') || ')', '')
      || coalesce(' WITH CHECK (' || regexp_replace(p.with_check, once, '\1', 'g') || ')', '');
  END LOOP;
END $$;
