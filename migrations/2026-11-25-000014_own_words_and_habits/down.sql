DROP FUNCTION school_clearing(jsonb);
DROP FUNCTION school_habits(jsonb);
REVOKE SELECT (school_id, critique_id, concern_id, shot_id, judged) ON verdict FROM refrain_definer;
DROP POLICY door ON verdict;
DROP VIEW concern_followed;
DROP TABLE lexicon_word;
