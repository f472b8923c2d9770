DROP VIEW suggestion_outcome;
DROP TABLE suggestion;
