DROP TABLE quota_entry;
DROP TABLE submission;
DROP FUNCTION submission_is_whole();
DROP FUNCTION move_remaining();
DROP TABLE revision;
DROP TABLE shot;
