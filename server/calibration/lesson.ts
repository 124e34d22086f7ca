import type { PersonInZone } from '../accounts/acting.ts';
import type { Database } from '../database/database.ts';
import { cardSchema, frameSchema } from '../programs/program.ts';
import { addPlays } from '../programs/stores/play-store.ts';
import { createProgram } from '../programs/stores/program-store.ts';
import { codeOfSeason } from '../rubric/read-rubric.ts';
import { usualSeconds } from '../training/running-time.ts';
import { notFound } from '../web/problem.ts';
import { callOfPlay } from './calibration.ts';
import { readSet } from './stores/set-rows.ts';

/** Opens a program for observers with the play that split the panel. @throws Problem 404 @returns the program's id */
export async function openLesson(
  { pool }: Database,
  acting: PersonInZone,
  setId: string,
  { number, duty }: { readonly number: number; readonly duty: string },
): Promise<string> {
  const { conferenceId } = acting;
  const set = await readSet(pool, conferenceId, setId);
  const clip = set.clips.find((one) => one.number === number);
  const item = clip?.items.find(({ key }) => key === duty);
  if (!clip || !item || set.state !== 'closed') throw notFound('clip');
  const frame = frameSchema.parse({
    title: `Seen alike: ${item.title}`.slice(0, 200),
    goal: `All observers judge this alike: ${item.expected || item.title}`.slice(0, 500),
    audience: 'observers',
    code: await codeOfSeason(pool, conferenceId, set.seasonId),
  });
  const card = cardSchema.parse({
    topic: item.title.slice(0, 100),
    aspect: item.gradedAs === 'call' ? 'ruling' : 'position',
    showing: 'to discuss',
    position: clip.position,
    dutyKey: item.key === callOfPlay.key ? null : item.key,
    answer: '',
    answeredOn: null,
    ruleCited: '',
    mechanicCited: '',
    twoMechanics: false,
    firstKey: '',
    secondKey: '',
    question: '',
    choices: [],
    narration: '',
    secondsBefore: usualSeconds.before,
    secondsAfter: usualSeconds.after,
  });
  const programId = await createProgram(pool, acting, set.seasonId, frame);
  await addPlays(pool, acting, programId, [{ playId: clip.playId, card }]);
  return programId;
}
