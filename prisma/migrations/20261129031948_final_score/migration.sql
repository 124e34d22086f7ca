-- The final score of a game, as the schedule has it: both points or none. A play log is held against it.
ALTER TABLE game
  ADD COLUMN home_points    integer CHECK (home_points BETWEEN 0 AND 300),
  ADD COLUMN visitor_points integer CHECK (visitor_points BETWEEN 0 AND 300),
  ADD CHECK ((home_points IS NULL) = (visitor_points IS NULL));
