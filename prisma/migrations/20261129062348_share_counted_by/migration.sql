-- The conference's least share of chances when a report was last counted. What is counted from its marks afterwards (a game
-- of two reports, cuts, agreement) uses this one: a closed season stays as it was counted, whatever is set later. Null:
-- never filed.
ALTER TABLE report ADD COLUMN counted_share_least double precision CHECK (counted_share_least BETWEEN 0 AND 1);
ALTER TABLE report DISABLE TRIGGER USER;
UPDATE report r SET counted_share_least = c.decided_share_least
  FROM conference c
 WHERE c.id = r.conference_id AND r.rubric_version_id IS NOT NULL;
ALTER TABLE report ENABLE TRIGGER USER;

-- A game's counts are its season's.
CALL read_only_when_closed('game_count', 'game');
