-- How a report's counts were found: null before marks stopped making chances of their own and shares were kept. Such
-- counts stand until they are found again; nothing is told of their shares.
ALTER TABLE report ADD COLUMN counts_method integer CHECK (counts_method >= 1);
ALTER TABLE report DISABLE TRIGGER USER;
UPDATE report r SET counts_method = 1
 WHERE EXISTS (SELECT FROM opportunity_count n
                WHERE n.conference_id = r.conference_id AND n.report_id = r.id
                  AND (n.likely > 0 OR n.unwatched > 0 OR n.set_aside > 0));
ALTER TABLE report ENABLE TRIGGER USER;
