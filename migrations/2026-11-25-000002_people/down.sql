DROP TABLE access_link;
DROP TABLE session;
DROP TABLE credential;
DROP TABLE person;
DROP TABLE school;
