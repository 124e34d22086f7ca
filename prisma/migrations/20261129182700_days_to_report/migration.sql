-- Within so many days of kickoff a report is to be filed; from then on it is overdue.
ALTER TABLE conference ADD COLUMN report_days integer NOT NULL DEFAULT 3 CHECK (report_days BETWEEN 1 AND 60);
