import type { Asking } from '../../database/pipeline.ts';
import { kindTitles } from '../../letters/kind-titles.ts';
import { answerUntil, endOfDay } from '../../reports/answer-time.ts';
import type { LetterFact, OfficialFacts } from '../official-desk.ts';
import { unansweredAvailability } from './availability-asked.ts';
import { instants, listOf } from './from-json.ts';

// Released reports only, and of them what is about the person $3: nothing else is an official's to see.
const evaluations = `
  SELECT r.id AS "reportId", r.game_id AS "gameId", t.title AS game, g.week, r.released_at AS "releasedAt",
         ${answerUntil('$3')} AS "answerUntil", m.marks, m.unanswered
    FROM report r
    JOIN game g ON g.conference_id = $1 AND g.id = r.game_id
    JOIN game_teams t ON t.conference_id = $1 AND t.game_id = g.id
   CROSS JOIN LATERAL (
      SELECT count(*)::int AS marks,
             (count(*) FILTER (WHERE NOT EXISTS (SELECT FROM reply y WHERE y.conference_id = $1
                                                    AND y.observation_id = o.id)))::int AS unanswered
        FROM observation o
       WHERE o.conference_id = $1 AND o.report_id = r.id AND o.person_id = $3 AND o.removed_at IS NULL) m
   WHERE r.conference_id = $1 AND r.season_id = $2 AND r.state = 'released'
     AND EXISTS (SELECT FROM opportunity_count n
                  WHERE n.conference_id = $1 AND n.report_id = r.id AND n.person_id = $3)
   ORDER BY g.kickoff, r.released_at, r.id`;

const letters = `
  SELECT l.id, l.kind, l.edition, l.released_at AS "releasedAt" FROM letter l
   WHERE l.conference_id = $1 AND l.season_id = $2 AND l.person_id = $3 AND l.released_at IS NOT NULL`;

const answers = `
  SELECT y.id AS "replyId", t.title AS game, g.week, l.number AS play, coalesce(d.title, o.duty_key) AS duty,
         y.created_at AS "repliedAt", u.ruling, u.ruled_at AS "ruledAt"
    FROM reply y
    JOIN observation o ON o.conference_id = $1 AND o.id = y.observation_id AND o.person_id = $3
    JOIN report r ON r.conference_id = $1 AND r.id = o.report_id AND r.season_id = $2 AND r.state = 'released'
    JOIN play l ON l.conference_id = $1 AND l.id = o.play_id
    JOIN game g ON g.conference_id = $1 AND g.id = r.game_id
    JOIN game_teams t ON t.conference_id = $1 AND t.game_id = g.id
    LEFT JOIN duty d ON d.conference_id = $1 AND d.rubric_version_id = r.rubric_version_id AND d.key = o.duty_key
    LEFT JOIN ruling u ON u.conference_id = $1 AND u.reply_id = y.id
   WHERE y.conference_id = $1 AND y.official_id = $3`;

// A point is the official's to see once they were told of it.
const points = `
  SELECT coalesce(duty.title, d.duty_key) AS duty, coalesce(duty.guidance, '') AS guidance, d.situation_cut AS situation, step.told
    FROM development_point d
    JOIN LATERAL (SELECT min(s.happened_on) AS told FROM development_step s
                   WHERE s.conference_id = $1 AND s.point_id = d.id AND s.kind IN ('conversation', 'letter')) step
      ON step.told IS NOT NULL
    LEFT JOIN LATERAL (SELECT y.title, y.definition ->> 'guidance' AS guidance FROM duty y
                         JOIN rubric_version v ON v.conference_id = $1 AND v.id = y.rubric_version_id
                        WHERE y.conference_id = $1 AND v.season_id = $2 AND y.key = d.duty_key
                        ORDER BY v.number DESC LIMIT 1) duty ON true
   WHERE d.conference_id = $1 AND d.season_id = $2 AND d.person_id = $3 AND d.state = 'open'
   ORDER BY step.told, d.id`;

// Of whichever season is looked at: they have a day to be answered by, and lead to one page.
const offers = `
  SELECT g.name AS game, to_char(o.answer_by, 'YYYY-MM-DD') AS "answerBy"
    FROM selection_offer o
    JOIN conference c ON c.id = $1
    JOIN selection s ON s.conference_id = $1 AND s.id = o.selection_id AND s.state = 'offered'
    JOIN season x ON x.conference_id = $1 AND x.id = s.season_id AND x.state <> 'closed'
    JOIN selection_game g ON g.conference_id = $1 AND g.id = o.game_id
   WHERE o.conference_id = $1 AND o.official_id = $3 AND o.answer IS NULL
     AND now() <= ${endOfDay('o.answer_by', 'c.time_zone')}
   ORDER BY o.answer_by, g.name`;

type LetterRow = Omit<LetterFact, 'title'> & { kind: keyof typeof kindTitles; edition: number };

/** What an official's desk is worked out from, in one query that each of their pages asks. */
export async function readOfficialFacts(
  asking: Asking,
  conferenceId: string,
  seasonId: string,
  personId: string,
): Promise<OfficialFacts> {
  const { rows } = await asking.query<
    Pick<OfficialFacts, 'evaluations' | 'answers' | 'points' | 'offers'> & {
      letters: LetterRow[];
      availability: NonNullable<OfficialFacts['availability']>[];
    }
  >({
    name: 'what waits for an official',
    text: `SELECT ${listOf(evaluations)} AS evaluations, ${listOf(letters)} AS letters, ${listOf(answers)} AS answers,
                  ${listOf(points)} AS points, ${listOf(offers)} AS offers,
                  ${listOf(unansweredAvailability)} AS availability`,
    values: [conferenceId, seasonId, personId],
  });
  const read = rows[0]!;
  const [asked] = read.availability;
  return {
    evaluations: read.evaluations.map((one) => instants(one, 'releasedAt', 'answerUntil')),
    letters: read.letters.map(({ kind, edition, ...one }) => ({
      ...instants(one, 'releasedAt'),
      title: edition > 1 ? `${kindTitles[kind]}, edition ${edition}` : kindTitles[kind],
    })),
    answers: read.answers.map((one) => instants(one, 'repliedAt', 'ruledAt')),
    points: read.points,
    offers: read.offers,
    availability: asked ? instants(asked, 'askedAt') : null,
  };
}
