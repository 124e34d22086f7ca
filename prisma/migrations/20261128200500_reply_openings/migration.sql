-- A released letter names the day until which its official may answer. For that official, the reports that the letter
-- counts are open at least until then; others of the same crew keep the report's own day.
CREATE TABLE reply_opening (
  conference_id uuid NOT NULL,
  report_id     uuid NOT NULL,
  person_id     uuid NOT NULL,
  open_until    timestamptz NOT NULL,
  PRIMARY KEY (conference_id, report_id, person_id),
  FOREIGN KEY (conference_id, report_id) REFERENCES report (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id) ON DELETE CASCADE
);
CREATE INDEX reply_opening_person ON reply_opening (conference_id, person_id);

-- The time to answer ends with a day, in the conference's zone, so that a day can be promised: windows given before
-- end with theirs. No figure changes by that, so the season's revision stays.
ALTER TABLE report DISABLE TRIGGER report_released;
UPDATE report r
   SET reply_until = ((r.reply_until AT TIME ZONE c.time_zone)::date + 1)::timestamp AT TIME ZONE c.time_zone
                     - interval '1 millisecond'
  FROM conference c
 WHERE c.id = r.conference_id AND r.reply_until > r.released_at;
ALTER TABLE report ENABLE TRIGGER report_released;
