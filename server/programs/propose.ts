import type { PersonInZone } from '../accounts/acting.ts';
import type { Database } from '../database/database.ts';
import { groupsOf } from '../grading/group-by.ts';
import type { SeasonResults } from '../results/season-results.ts';
import { goodPerTopic } from '../training/clip-problem.ts';
import { isBad, type Lesson } from '../training/lesson.ts';
import { secondsForEachPlay } from '../training/running-time.ts';
import { conflict } from '../web/problem.ts';
import { type Candidate, lessonOf, readCandidates } from './candidates.ts';
import type { Chooser } from './chooser.ts';
import { programSeconds } from './film-seconds.ts';
import { firstCard } from './first-card.ts';
import { shownPlay } from './meters.ts';
import type { Program } from './program.ts';
import { readCuts } from './stores/cut-store.ts';
import { readPlayFacts } from './stores/play-facts.ts';
import { addPlays } from './stores/play-store.ts';
import { readProgram } from './stores/program-rows.ts';

interface Proposal {
  /** How many plays were put in. */
  readonly added: number;
  /** No better choice is possible; else time ran out, and it is at most `short` points from the best. */
  readonly proven: boolean;
  readonly short: number;
  readonly seconds: number;
}

interface ProposalWanted {
  /** The most plays in all; null: one for each fifty seconds (`training/running-time.ts`). */
  readonly clips: number | null;
  /** The most topics; null: one for each four minutes. */
  readonly topics: number | null;
  /** Only these duties; empty: any. */
  readonly dutyKeys: readonly string[];
}

/**
 * Fills a program with the best choice of what a season has, beside the plays that are in it already, which stay. It can
 * be taken back like any change.
 *
 * @throws Problem 409 when nothing fits
 */
export async function propose(
  database: Pick<Database, 'pool'>,
  results: SeasonResults,
  chooser: Chooser,
  acting: PersonInZone,
  programId: string,
  wanted: ProposalWanted,
): Promise<Proposal> {
  const { conferenceId } = acting;
  const program = await readProgram(database.pool, conferenceId, programId);
  const candidates = await readCandidates(database, results, conferenceId, program.seasonId);
  const there = await lessonsInside(database, conferenceId, program, candidates);
  const inside = new Set(program.plays.map(({ playId }) => playId));
  const topics = wanted.topics ?? Math.max(1, Math.round(program.minutes / 4));
  const possible = candidates.filter((candidate) => mayBeProposed(candidate, program, wanted, inside));
  const taught = topicsFirst(possible, new Set(there.map(({ topic }) => topic)), topics);
  const open = possible.filter(({ dutyKey }) => taught.has(dutyKey));
  const choice = await chooser.choose({
    lessons: [...there, ...open.map(lessonOf)],
    locked: there.map(({ id }) => id),
    limits: {
      clips: wanted.clips ?? Math.max(1, Math.floor((program.minutes * 60) / secondsForEachPlay)),
      seconds: program.minutes * 60,
      mostBadOfOfficial: program.mostBad,
      topics,
    },
  });
  const chosen = new Set(choice.chosen);
  const added = open.filter(({ id }) => chosen.has(id));
  if (added.length === 0)
    throw conflict(
      there.length > 0
        ? 'Nothing can be put in beside what is there: the minutes are used, or what is left would make it less fair.'
        : 'No plays of this season can be proposed: a topic needs two good plays to open and close it, and there must be as many good plays as bad. Widen what is asked for, or put plays in by hand.',
    );
  await addPlays(
    database.pool,
    acting,
    programId,
    added.map((candidate) => ({
      playId: candidate.facts.playId,
      card: firstCard(candidate, candidate.duty),
    })),
    { said: `proposed ${added.length === 1 ? 'one play' : `${added.length} plays`}`, inOrder: true },
  );
  return {
    added: added.length,
    proven: choice.proven,
    short: choice.bound - choice.worth,
    seconds: choice.seconds,
  };
}

/**
 * The topics that are taught: those in the program already, then the costliest of which there are good plays enough and a
 * bad one. They are chosen first and not with the plays: what is taught is the coordinator's to say, and so the best
 * choice of plays is proved in seconds.
 */
export function topicsFirst(
  candidates: readonly Pick<Candidate, 'dutyKey' | 'showing' | 'points' | 'topicRank'>[],
  inside: ReadonlySet<string>,
  most: number,
): Set<string> {
  const worth = groupsOf(candidates, ({ dutyKey }) => dutyKey)
    .map((own) => ({
      key: own[0]!.dutyKey,
      rank: own[0]!.topicRank ?? Number.MAX_SAFE_INTEGER,
      points: own.reduce((sum, { points }) => sum + points, 0),
      good: own.filter(({ showing }) => !isBad(showing)).length,
      bad: own.filter(({ showing }) => isBad(showing)).length,
    }))
    .filter(({ key, good }) => inside.has(key) || good >= goodPerTopic)
    .sort(
      (a, b) =>
        Number(inside.has(b.key)) - Number(inside.has(a.key)) ||
        Number(b.bad > 0) - Number(a.bad > 0) ||
        a.rank - b.rank ||
        b.points - a.points ||
        (a.key < b.key ? -1 : 1),
    );
  return new Set(worth.slice(0, Math.max(most, inside.size)).map(({ key }) => key));
}

function mayBeProposed(
  { facts, dutyKey, position }: Candidate,
  program: Program,
  { dutyKeys }: ProposalWanted,
  inside: ReadonlySet<string>,
): boolean {
  if (facts.openReply || inside.has(facts.playId)) return false;
  if (program.audiencePosition !== null && position !== program.audiencePosition) return false;
  return dutyKeys.length === 0 || dutyKeys.includes(dutyKey);
}

/** What is in the program already, as the chooser takes it. */
async function lessonsInside(
  { pool }: Pick<Database, 'pool'>,
  conferenceId: string,
  program: Program,
  candidates: readonly Candidate[],
): Promise<Lesson[]> {
  const facts = await readPlayFacts(
    pool,
    conferenceId,
    program.plays.map(({ playId }) => playId),
  );
  const cuts = await readCuts(pool, conferenceId, program.id);
  return program.plays.flatMap((play): Lesson[] => {
    const ofPlay = facts.get(play.playId);
    if (!ofPlay) return [];
    const known = candidates.find(
      (one) =>
        one.facts.playId === play.playId && one.dutyKey === play.dutyKey && one.position === play.position,
    );
    return [
      {
        ...shownPlay(play, ofPlay),
        id: `in the program: ${play.playId}`,
        gameId: ofPlay.gameId,
        topic: play.dutyKey ?? play.topic,
        seconds: Math.max(1, programSeconds(play, cuts.get(play.playId))),
        points: known?.points ?? 0,
      },
    ];
  });
}
