DROP TABLE mail;
DROP TABLE job;
DROP FUNCTION announce_job();
