-- Coordinators are told who declined, whichever page, link or file says so; before, a file of assignments told nobody.
CREATE FUNCTION tell_of_decline() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  INSERT INTO message (conference_id, person_id, kind, about_id, facts)
  SELECT NEW.conference_id, p.id, 'declined', NEW.id,
         jsonb_build_object('observer', o.given_name || ' ' || o.family_name, 'game', t.title, 'gameId', g.id,
                            'week', g.week, 'kickoff', g.kickoff, 'timeZone', v.time_zone,
                            'reason', coalesce(NEW.decline_reason, ''))
    FROM game g
    JOIN venue v ON v.conference_id = g.conference_id AND v.id = g.venue_id
    JOIN game_teams t ON t.conference_id = g.conference_id AND t.game_id = g.id
    JOIN person o ON o.conference_id = g.conference_id AND o.id = NEW.observer_id
    JOIN person p ON p.conference_id = g.conference_id AND p.active AND p.id <> NEW.observer_id
    JOIN person_role r ON r.conference_id = p.conference_id AND r.person_id = p.id AND r.role = 'coordinator'
   WHERE g.conference_id = NEW.conference_id AND g.id = NEW.game_id
     -- What a file says of a game long over is no news.
     AND (TG_OP = 'UPDATE' OR g.kickoff > now())
   ORDER BY p.id;
  RETURN NULL;
END
$$;
CREATE TRIGGER observer_assignment_declined AFTER INSERT ON observer_assignment FOR EACH ROW
  WHEN (NEW.answer = 'declined' AND NEW.withdrawn_at IS NULL)
  EXECUTE FUNCTION tell_of_decline();
CREATE TRIGGER observer_assignment_now_declined AFTER UPDATE ON observer_assignment FOR EACH ROW
  WHEN (NEW.answer = 'declined' AND OLD.answer <> 'declined' AND NEW.withdrawn_at IS NULL)
  EXECUTE FUNCTION tell_of_decline();
