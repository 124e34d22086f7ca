-- A token ends for good with its maker's role, whatever takes the role away: a page, the API, a file of staff. Given
-- the role again, they make a new one.
CREATE FUNCTION tokens_end_with_role() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  UPDATE api_token SET revoked_at = now()
   WHERE conference_id = OLD.conference_id AND person_id = OLD.person_id AND role = OLD.role AND revoked_at IS NULL;
  RETURN NULL;
END
$$;
CREATE TRIGGER person_role_taken AFTER DELETE ON person_role FOR EACH ROW EXECUTE FUNCTION tokens_end_with_role();

UPDATE api_token t SET revoked_at = now()
 WHERE t.revoked_at IS NULL AND NOT EXISTS (
   SELECT FROM person_role r
    WHERE r.conference_id = t.conference_id AND r.person_id = t.person_id AND r.role = t.role);
