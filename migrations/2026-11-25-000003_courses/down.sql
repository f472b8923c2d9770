DROP TABLE enrolment;
DROP TABLE assignment;
DROP TABLE course;
