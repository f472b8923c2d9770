DROP TABLE footage;
DROP TABLE upload;
