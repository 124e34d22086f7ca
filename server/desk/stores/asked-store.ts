import type { Asking } from '../../database/pipeline.ts';
import { openInquiryStates } from '../../schedule/open-states.ts';

/** What the coordinator asks a person in private about a play of a game. */
export interface AskedFact {
  readonly inquiryId: string;
  readonly of: 'statement' | 'second reading';
  readonly game: string;
  readonly week: number;
  readonly askedAt: Date;
}

const open = `i.state IN ${openInquiryStates}`;
const where = `JOIN inquiry i ON i.conference_id = a.conference_id AND i.id = a.inquiry_id AND ${open}
  JOIN season s ON s.conference_id = i.conference_id AND s.id = i.season_id AND s.state <> 'closed'
  JOIN game g ON g.conference_id = i.conference_id AND g.id = i.game_id
  JOIN game_teams t ON t.conference_id = g.conference_id AND t.game_id = g.id`;

/** Statements and second readings that a person is asked for and has not given, the oldest first; of every season. */
export async function readAsked(
  asking: Asking,
  conferenceId: string,
  personId: string,
): Promise<AskedFact[]> {
  const { rows } = await asking.query<AskedFact>({
    name: 'what a person is asked in private',
    text: `
      SELECT a.inquiry_id AS "inquiryId", 'statement' AS of, t.title AS game, g.week, a.asked_at AS "askedAt"
        FROM inquiry_statement a ${where}
       WHERE a.conference_id = $1 AND a.person_id = $2 AND a.given_at IS NULL
      UNION ALL
      SELECT a.inquiry_id, 'second reading', t.title, g.week, a.asked_at
        FROM inquiry_reading a ${where}
       WHERE a.conference_id = $1 AND a.reader_id = $2 AND a.read_at IS NULL
         AND a.round = CASE WHEN i.reopened_at IS NULL THEN 1 ELSE 2 END
       ORDER BY 5, 1`,
    values: [conferenceId, personId],
  });
  return rows;
}
