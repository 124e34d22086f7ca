import type pg from 'pg';
import type { PersonInZone } from '../server/accounts/acting.ts';
import type { Duty } from '../server/duties/duty.ts';
import { firstCard } from '../server/programs/first-card.ts';
import type { Card } from '../server/programs/program.ts';
import { releaseEdition } from '../server/programs/stores/edition-store.ts';
import { addPlays, keepCard } from '../server/programs/stores/play-store.ts';
import { readProgram } from '../server/programs/stores/program-rows.ts';
import { createProgram, listPrograms, removeProgram } from '../server/programs/stores/program-store.ts';
import { type MarkedChance, readMarkedChances } from '../server/results/marked-chances.ts';
import { readDuties } from '../server/results/patterns/pattern-counts.ts';
import { readRubric } from '../server/rubric/read-rubric.ts';
import { showingOf } from '../server/training/reasons.ts';

const topics = 4;
/** Of each topic: a good play, a bad one, a good one of the same person. */
const shownOfEach = 3;

/** A program of twelve plays on what is missed most, written on and released, so that all of it can be tried. */
export async function loadTraining(
  pool: pg.Pool,
  acting: PersonInZone,
  seasonId: string,
): Promise<{ plays: number }> {
  const { conferenceId } = acting;
  for (const program of await listPrograms(pool, conferenceId, seasonId)) {
    if (program.edition > 0) return { plays: program.plays };
    // A load that was cut off is begun again.
    await removeProgram(pool, acting, program.id);
  }
  const duties = (await readRubric(pool, conferenceId, seasonId))!.duties;
  const named = await readDuties(pool, conferenceId, seasonId);
  const lessons = lessonsOf(await readMarkedChances(pool, { conferenceId, seasonId }), duties);
  const programId = await createProgram(pool, acting, seasonId, {
    title: 'What we missed most, and how it is done',
    goal: 'Everybody knows what is theirs on these four kinds of play, and does it before anybody asks.',
    audience: 'everybody',
    audiencePosition: null,
    audienceCrewId: null,
    minutes: 15,
    dueOn: null,
    code: 'college',
    mostBad: 1,
  });
  const cards = lessons.map((lesson) => ({
    playId: lesson.chance.playId,
    card: firstCard(
      { ...lesson.chance, showing: showingOf(lesson.chance as { outcome: 'met' | 'missed' }) },
      named.get(lesson.duty.key),
    ),
  }));
  await addPlays(pool, acting, programId, cards);
  const put = await readProgram(pool, conferenceId, programId);
  const versions = new Map(put.plays.map((play) => [play.playId, play.version]));
  for (const [at, { playId, card }] of cards.entries()) {
    const { duty } = lessons[at]!;
    const others = duties.filter(({ key, gradedAs }) => key !== duty.key && gradedAs === duty.gradedAs);
    const asked = at % shownOfEach === 1;
    const kept = written(card, duty, others[at * 5]!, asked);
    await keepCard(pool, acting, programId, playId, kept, versions.get(playId)!);
  }
  const { version } = await readProgram(pool, conferenceId, programId);
  await releaseEdition(pool, acting, programId, {
    version,
    note: '',
    namesMeant: false,
    untoldBecause: 'An invented season: there is nobody to tell.',
  });
  return { plays: cards.length };
}

interface DemoLesson {
  readonly chance: MarkedChance;
  readonly duty: Duty;
}

/** Plays of the duties missed most, three of each; no play twice, and nobody in two topics. */
function lessonsOf(chances: readonly MarkedChance[], duties: readonly Duty[]): DemoLesson[] {
  const byDuty = new Map<string, MarkedChance[]>();
  for (const chance of chances) {
    const own = byDuty.get(chance.dutyKey);
    if (own) own.push(chance);
    else byDuty.set(chance.dutyKey, [chance]);
  }
  const missed = (own: readonly MarkedChance[]) => own.filter(({ outcome }) => outcome === 'missed');
  const ranked = duties
    .filter(({ per, key }) => per === 'play' && byDuty.has(key))
    .sort((a, b) => missed(byDuty.get(b.key)!).length - missed(byDuty.get(a.key)!).length);
  const used = new Set<string>();
  const games = new Map<string, number>();
  const lessons: DemoLesson[] = [];
  for (const duty of ranked) {
    if (lessons.length === topics * shownOfEach) break;
    const own = threeOf(byDuty.get(duty.key)!, used, games);
    for (const chance of own) {
      used.add(chance.playId).add(chance.personId);
      games.set(chance.gameId, (games.get(chance.gameId) ?? 0) + 1);
      lessons.push({ chance, duty });
    }
  }
  return lessons;
}

/** A good play, a bad one of somebody, and a good one of the same person; none where there are no such three. */
function threeOf(
  chances: readonly MarkedChance[],
  used: ReadonlySet<string>,
  games: ReadonlyMap<string, number>,
): MarkedChance[] {
  // From games that little was shown of so far.
  const fresh = chances
    .filter(({ playId, personId }) => !used.has(playId) && !used.has(personId))
    .sort((a, b) => (games.get(a.gameId) ?? 0) - (games.get(b.gameId) ?? 0));
  const good = fresh.filter(({ outcome, finding }) => outcome === 'met' && finding === 'model');
  for (const bad of fresh) {
    if (bad.outcome !== 'missed' || bad.finding !== 'missed') continue;
    const better = good.find((one) => one.personId === bad.personId && one.playId !== bad.playId);
    const other = good.find((one) => one.personId !== bad.personId && one.playId !== bad.playId);
    if (better && other && other.playId !== better.playId) return [other, bad, better];
  }
  return [];
}

/** The card of a play, written from the duty's own words. */
function written(card: Card, duty: Duty, other: Duty, asked: boolean): Card {
  const [first = `To ${duty.expected}`, second = 'Do it before anybody asks'] = duty.guidance
    .split(/(?<=[.;])\s+/)
    .filter((sentence) => sentence.length > 0 && sentence.length <= 200);
  return {
    ...card,
    answer: `The ${card.position} is expected to ${duty.expected}.`,
    mechanicCited: duty.source,
    firstKey: first,
    secondKey: second,
    narration: `Watch the ${card.position}. ${card.showing === 'good' ? 'This is how it is done' : 'Here it is not done'}: to ${duty.expected}.`,
    question: asked ? `What is the ${card.position} expected to do here?` : '',
    choices: asked
      ? [
          { text: sentence(other.expected), right: false },
          { text: sentence(duty.expected), right: true },
          { text: 'Nothing: nobody owes anything here', right: false },
        ]
      : [],
  };
}

const sentence = (words: string) => `${words.charAt(0).toUpperCase()}${words.slice(1)}`.slice(0, 200);
