-- Who is asking: set per transaction by the program, read by every policy. Unset means nobody: no rows.
CREATE FUNCTION app_school() RETURNS uuid LANGUAGE sql STABLE AS $$ SELECT nullif(current_setting('app.school', true), '')::uuid $$;
CREATE FUNCTION app_person() RETURNS uuid LANGUAGE sql STABLE AS $$ SELECT nullif(current_setting('app.person', true), '')::uuid $$;
CREATE FUNCTION app_is(role text) RETURNS boolean LANGUAGE sql STABLE AS $$ SELECT role = ANY (string_to_array(coalesce(current_setting('app.roles', true), ''), ',')) $$;

CREATE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION '% is append-only', TG_TABLE_NAME USING ERRCODE = '42501';
END $$;
