import type { Queryable } from '../database/transaction.ts';
import type { Duty } from '../duties/duty.ts';
import { drawPlay, type PlayDrawing } from '../football/drawing/play-drawing.ts';
import { downInWords, kindInWords, resultInWords } from '../football/play-in-words.ts';
import { positions } from '../football/positions.ts';
import { type PlayDuties, readPlayDuties } from '../reports/plays/play-duties.ts';
import { readRubric } from '../rubric/read-rubric.ts';
import type { EditionContent, EditionPlay, EditionSource } from './edition.ts';
import { hasFilm } from './film-of-play.ts';
import type { Frame, Program, ProgramPlay } from './program.ts';
import type { PlayFacts } from './stores/play-facts.ts';

/** Whom a program is for, without a crew's name. */
export function audienceInWords({ audience, audiencePosition }: Frame): string {
  if (audience === 'position') return `every ${audiencePosition}`;
  if (audience === 'crew') return 'one crew';
  return audience;
}

/** The program as it is shown from now on, with the facts as they are now; and where its plays are from. */
export async function contentOf(
  db: Queryable,
  conferenceId: string,
  program: Program,
  facts: ReadonlyMap<string, PlayFacts>,
): Promise<{ content: EditionContent; sources: EditionSource[] }> {
  const { rows } = await db.query<{ name: string }>('SELECT name FROM conference WHERE id = $1', [
    conferenceId,
  ]);
  const rubric = await readRubric(db, conferenceId, program.seasonId);
  const newest = new Map((rubric?.duties ?? []).map((duty) => [duty.key, duty]));
  const plays: EditionPlay[] = [];
  const drawings: PlayDrawing[] = [];
  for (const [at, play] of program.plays.entries()) {
    const ofPlay = facts.get(play.playId)!;
    const duties = await readPlayDuties({ pool: db }, conferenceId, ofPlay.gameId, play.playId);
    plays.push(editionPlay(duties, play, at + 1, ofPlay, newest));
    drawings.push(drawPlay(duties.play, duties.field, duties.code, new Set()));
  }
  return {
    content: {
      conference: rows[0]!.name,
      title: program.title,
      goal: program.goal,
      audience: audienceInWords(program),
      code: program.code,
      minutes: program.minutes,
      plays,
    },
    sources: program.plays.map((play, at) => sourceOf(at + 1, facts.get(play.playId)!, drawings[at]!)),
  };
}

function editionPlay(
  { owed }: PlayDuties,
  play: ProgramPlay,
  number: number,
  facts: PlayFacts,
  newest: ReadonlyMap<string, Duty>,
): EditionPlay {
  // The wording under which it was counted, where it was owed then.
  const duty =
    owed.find((one) => one.duty.key === play.dutyKey && one.position === play.position)?.duty ??
    (play.dutyKey === null ? undefined : newest.get(play.dutyKey));
  const { playId: _, version: __, dutyKey: ___, firstKey, secondKey, ...card } = play;
  return {
    ...card,
    number,
    duty: duty
      ? { title: duty.title, expected: duty.expected, guidance: duty.guidance, source: duty.source }
      : null,
    situation: `${downInWords(facts.play)}: ${kindInWords(facts.play)}`,
    result: resultInWords(facts.play),
    owed: positions.flatMap((position) => {
      const duties = owed.filter((one) => one.position === position).map((one) => one.duty.title);
      return duties.length > 0 ? [{ position, duties }] : [];
    }),
    keys: [firstKey, secondKey].filter((key) => key !== ''),
    hasFilm: hasFilm(facts),
  };
}

const sourceOf = (number: number, facts: PlayFacts, drawing: PlayDrawing): EditionSource => ({
  number,
  playId: facts.playId,
  gameId: facts.gameId,
  game: facts.game,
  week: facts.week,
  playNumber: facts.number,
  filmSeconds: facts.filmSeconds,
  filmLink: facts.filmLink,
  drawing,
});
