-- How a game is called, once for everybody who names one.
CREATE VIEW game_teams AS
SELECT g.conference_id, g.id AS game_id, home.name AS home, visitor.name AS visitor,
       visitor.name || ' at ' || home.name AS title
  FROM game g
  JOIN team home ON home.conference_id = g.conference_id AND home.id = g.home_team_id
  JOIN team visitor ON visitor.conference_id = g.conference_id AND visitor.id = g.visiting_team_id;
