import type { Queryable } from '../database/transaction.ts';
import { type QuizOfOfficial, quizzesByOfficial } from './official-lines.ts';
import { readWeight } from './weight-store.ts';

/** A season's quizzes and clinics, official by official, as lines of a letter. */
export async function knowledgeLines(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<Map<string, string[]>> {
  const weight = await readWeight(db, conferenceId, seasonId);
  const enters =
    weight === null
      ? 'does not enter the grade'
      : `does not enter the grade; quizzes together count ${weight.percent} % in the figure beside it`;
  const lines = new Map<string, string[]>();
  for (const [officialId, quizzes] of await quizzesByOfficial(db, conferenceId, seasonId))
    lines.set(
      officialId,
      quizzes.map((one) => `Rules quiz “${one.title}”: ${quizInWords(one)}; ${enters}.`),
    );
  const { rows } = await db.query<{ officialId: string; asked: number; attended: number; excused: number }>(
    `SELECT a.official_id AS "officialId", count(*)::int AS asked, count(*) FILTER (WHERE a.state = 'excused')::int AS excused,
            count(*) FILTER (WHERE a.state IN ('attended', 'made up'))::int AS attended
       FROM clinic_attendance a WHERE a.conference_id = $1 AND a.season_id = $2 AND a.state <> 'open' GROUP BY a.official_id`,
    [conferenceId, seasonId],
  );
  for (const { officialId, asked, attended, excused } of rows)
    lines.set(officialId, [
      ...(lines.get(officialId) ?? []),
      `Clinics attended: ${attended} of ${asked}${excused > 0 ? `, ${excused} excused` : ''}; does not enter the grade.`,
    ]);
  return lines;
}

const quizInWords = ({ right, asked, sittings, told, measure }: QuizOfOfficial) =>
  [
    `${right} of ${asked} right${told.ofAll ? ` in the best of ${sittings} sittings` : ''}`,
    ...(measure
      ? [
          `measure ${signed(measure.value)} ± ${measure.se.toFixed(1)}${told.ofAll ? ' over all of them' : ''}`,
        ]
      : []),
  ].join(', ');
const signed = (value: number) =>
  value
    .toFixed(1)
    .replace(/^-0\.0$/, '0.0')
    .replace('-', '\u2212');
