-- A folder of files is imported by a command, which is nobody.
ALTER TABLE official_fact ALTER COLUMN entered_by DROP NOT NULL;
ALTER TABLE official_tie ALTER COLUMN entered_by DROP NOT NULL;
