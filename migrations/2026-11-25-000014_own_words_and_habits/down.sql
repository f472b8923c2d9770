DROP FUNCTION school_clearing(jsonb);
DROP FUNCTION school_habits(jsonb);
REVOKE SELECT (school_id, critique_id, concern_id, shot_id, judged) ON verdict FROM refrain_definer;
REVOKE SELECT (id, school_id, critique_id, concern_id, shot_id, student_id, kind, principles, parts, created_at) ON note FROM refrain_definer;
DROP POLICY door ON verdict;
DROP POLICY door ON note;
DROP VIEW concern_followed;
DROP TABLE lexicon_word;
