-- A fourth role: who asks for a team about plays of its own games, and sees nothing else.
ALTER TABLE person_role DROP CONSTRAINT person_role_role_check;
ALTER TABLE person_role ADD CONSTRAINT person_role_role_check
  CHECK (role IN ('coordinator', 'observer', 'official', 'team contact'));

-- Which team each contact speaks for: one and no more. It outlives the role, so that giving it back finds the team.
CREATE TABLE team_contact (
  conference_id uuid NOT NULL,
  person_id     uuid NOT NULL,
  team_id       uuid NOT NULL,
  PRIMARY KEY (conference_id, person_id),
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, team_id) REFERENCES team (conference_id, id)
);
CREATE INDEX team_contact_team ON team_contact (conference_id, team_id);
