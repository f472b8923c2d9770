-- A school's own words over the lexicon that comes with the program. Merging them checks them; here they only stand.
CREATE TABLE lexicon_word (
  id uuid PRIMARY KEY,
  school_id uuid NOT NULL REFERENCES school (id) ON DELETE CASCADE,
  held_in text NOT NULL CHECK (held_in IN ('traits', 'principle_words', 'directions', 'qualities', 'cues', 'parts')),
  phrase text NOT NULL CHECK (length(phrase) BETWEEN 1 AND 80),
  meaning text NOT NULL CHECK (length(meaning) BETWEEN 1 AND 40),
  added_by uuid NOT NULL,
  added_at timestamptz NOT NULL,
  CONSTRAINT lexicon_word_once UNIQUE (school_id, held_in, phrase, meaning),
  FOREIGN KEY (school_id, added_by) REFERENCES person (school_id, id) ON DELETE CASCADE
);
-- Two mentors at the same moment cannot give one phrase two meanings where it may have one.
CREATE UNIQUE INDEX lexicon_word_single ON lexicon_word (school_id, held_in, phrase) WHERE held_in NOT IN ('directions', 'cues');

ALTER TABLE lexicon_word ENABLE ROW LEVEL SECURITY;
ALTER TABLE lexicon_word FORCE ROW LEVEL SECURITY;
CREATE POLICY tenant ON lexicon_word AS RESTRICTIVE TO refrain_app USING (school_id = app_school()) WITH CHECK (school_id = app_school());
CREATE POLICY kept ON lexicon_word TO refrain_app USING (app_is('mentor') OR app_is('office'))
  WITH CHECK ((app_is('mentor') OR app_is('office')) AND added_by = app_person());
GRANT SELECT, INSERT, DELETE ON lexicon_word TO refrain_app;

-- What released critiques made of each concern: what it is about, by the latest note that says so, and how many critiques after the
-- first note it took to clear, or was followed without. Praise is no concern that wants something. What was set aside is followed
-- until then.
CREATE VIEW concern_followed WITH (security_invoker = true) AS
SELECT k.school_id, k.student_id, k.shot_id, k.concern_id, k.principle, k.part,
  coalesce(v.cleared < coalesce(v.aside, v.cleared + 1), false) AS cleared,
  (least(v.cleared, v.aside, k.rounds) - k.first)::integer AS revisions
FROM (
  SELECT n.school_id, n.student_id, n.shot_id, n.concern_id, min(c.at) AS first, max(c.rounds) AS rounds,
    (array_agg(n.principles[1] ORDER BY c.at DESC, n.created_at DESC, n.id) FILTER (WHERE n.principles[1] IS NOT NULL))[1] AS principle,
    (array_agg(n.parts -> 0 ->> 'part' ORDER BY c.at DESC, n.created_at DESC, n.id) FILTER (WHERE n.parts -> 0 IS NOT NULL))[1] AS part
  FROM note n JOIN (
    SELECT c.school_id, c.student_id, c.shot_id, c.id, row_number() OVER (PARTITION BY c.school_id, c.student_id, c.shot_id ORDER BY r.number) AS at,
      count(*) OVER (PARTITION BY c.school_id, c.student_id, c.shot_id) AS rounds
    FROM critique c JOIN revision r ON r.school_id = c.school_id AND r.id = c.revision_id WHERE c.released_at <= now()
  ) c ON c.school_id = n.school_id AND c.student_id = n.student_id AND c.shot_id = n.shot_id AND c.id = n.critique_id
  GROUP BY n.school_id, n.student_id, n.shot_id, n.concern_id
  HAVING bool_or(n.kind <> 'keep')
) k LEFT JOIN (
  SELECT v.school_id, c.student_id, v.shot_id, v.concern_id, min(c.at) FILTER (WHERE v.judged = 'cleared') AS cleared,
    min(c.at) FILTER (WHERE v.judged = 'set-aside') AS aside
  FROM verdict v JOIN (
    SELECT c.school_id, c.student_id, c.shot_id, c.id, row_number() OVER (PARTITION BY c.school_id, c.student_id, c.shot_id ORDER BY r.number) AS at
    FROM critique c JOIN revision r ON r.school_id = c.school_id AND r.id = c.revision_id WHERE c.released_at <= now()
  ) c ON c.school_id = v.school_id AND c.shot_id = v.shot_id AND c.id = v.critique_id
  WHERE v.judged IN ('cleared', 'set-aside')
  GROUP BY v.school_id, c.student_id, v.shot_id, v.concern_id
) v ON v.school_id = k.school_id AND v.student_id = k.student_id AND v.shot_id = k.shot_id AND v.concern_id = k.concern_id;
GRANT SELECT ON concern_followed TO refrain_app, refrain_definer;

-- The school beside a student: two doors that give numbers alone, no word, no name, no id, and nothing while fewer than five
-- students have been told anything, for then a number would be a person.
CREATE POLICY door ON verdict FOR SELECT TO refrain_definer USING (true);
GRANT SELECT (school_id, critique_id, concern_id, shot_id, judged) ON verdict TO refrain_definer;

-- How many students had a fault of that principle and body area in so many of their so many shots. Without a principle: how many
-- students have so many shots.
CREATE FUNCTION school_habits(areas jsonb) RETURNS TABLE (principle text, area text, with_it integer, shots integer, students integer)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, public AS $$
  WITH held AS MATERIALIZED (
    SELECT c.student_id, count(DISTINCT c.shot_id)::integer AS shots FROM public.critique c
    WHERE c.school_id = public.app_school() AND c.released_at <= now() AND (public.app_is('student') OR public.app_is('mentor'))
    GROUP BY c.student_id),
  enough AS (SELECT count(*) >= 5 AS so FROM held),
  had AS (
    SELECT f.student_id, f.principle, areas ->> f.part AS area, count(DISTINCT f.shot_id)::integer AS with_it
    FROM public.concern_followed f
    WHERE f.school_id = public.app_school() AND (SELECT so FROM enough) AND f.principle IS NOT NULL AND areas ->> f.part IS NOT NULL
    GROUP BY 1, 2, 3)
  SELECT NULL::text, NULL::text, 0, h.shots, count(*)::integer FROM held h WHERE (SELECT so FROM enough) GROUP BY h.shots
  UNION ALL
  SELECT a.principle, a.area, a.with_it, h.shots, count(*)::integer FROM had a JOIN held h USING (student_id) GROUP BY 1, 2, 3, 4 $$;

-- How many concerns of that principle and body area were cleared after so many critiques, or were followed for so many without.
CREATE FUNCTION school_clearing(areas jsonb) RETURNS TABLE (principle text, area text, revisions integer, cleared boolean, concerns integer)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, public AS $$
  SELECT f.principle, areas ->> f.part, f.revisions, f.cleared, count(*)::integer
  FROM public.concern_followed f
  WHERE f.school_id = public.app_school() AND (public.app_is('student') OR public.app_is('mentor'))
    AND f.principle IS NOT NULL AND areas ->> f.part IS NOT NULL
    AND (SELECT count(DISTINCT c.student_id) >= 5 FROM public.critique c WHERE c.school_id = public.app_school() AND c.released_at <= now())
  GROUP BY 1, 2, 3, 4 $$;

DO $$
DECLARE
  f text;
BEGIN
  FOREACH f IN ARRAY ARRAY['school_habits(jsonb)', 'school_clearing(jsonb)'] LOOP
    EXECUTE format('ALTER FUNCTION %s OWNER TO refrain_definer', f);
    EXECUTE format('REVOKE ALL ON FUNCTION %s FROM PUBLIC', f);
    EXECUTE format('GRANT EXECUTE ON FUNCTION %s TO refrain_app', f);
  END LOOP;
END $$;
