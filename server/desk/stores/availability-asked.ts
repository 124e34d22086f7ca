/** SQL: seasons that are not closed for which the person $3 of conference $1 was asked and has not answered. */
export const unansweredAvailability = `
  SELECT s.name AS season, a.asked_at AS "askedAt"
    FROM season_availability a JOIN season s ON s.conference_id = $1 AND s.id = a.season_id AND s.state <> 'closed'
   WHERE a.conference_id = $1 AND a.person_id = $3 AND a.answered_at IS NULL
   ORDER BY a.asked_at, s.name`;
