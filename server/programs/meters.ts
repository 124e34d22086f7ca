import type { Database } from '../database/database.ts';
import { type Balance, balanceOf, type ShownPlay } from '../training/balance.ts';
import { type TopicOpening, topicOpenings } from '../training/topic-order.ts';
import { programSeconds } from './film-seconds.ts';
import type { Program, ProgramPlay } from './program.ts';
import { type KeptCut, readCuts } from './stores/cut-store.ts';
import { type PlayFacts, readAvailable, readPlayFacts } from './stores/play-facts.ts';

export interface MeasuredProgram {
  readonly facts: ReadonlyMap<string, PlayFacts>;
  readonly cuts: ReadonlyMap<string, KeptCut>;
  readonly balance: Balance;
  readonly openings: readonly TopicOpening[];
  /** Plays with a reply that waits for its ruling: the program cannot be released with them. */
  readonly openReplies: readonly string[];
  /** Plays that their log no longer has. */
  readonly gone: readonly string[];
}

/** How fair the program is as it stands. */
export async function measureProgram(
  { pool }: Pick<Database, 'pool'>,
  conferenceId: string,
  program: Program,
): Promise<MeasuredProgram> {
  const facts = await readPlayFacts(
    pool,
    conferenceId,
    program.plays.map(({ playId }) => playId),
  );
  const cuts = await readCuts(pool, conferenceId, program.id);
  const used = program.plays.reduce((sum, play) => sum + programSeconds(play, cuts.get(play.playId)), 0);
  const there = program.plays.filter(({ playId }) => facts.has(playId));
  return {
    facts,
    cuts,
    balance: balanceOf(
      there.map((play) => shownPlay(play, facts.get(play.playId)!)),
      await readAvailable(pool, conferenceId, program.seasonId),
      program.mostBad,
      { used, planned: program.minutes * 60 },
    ),
    openings: topicOpenings(program.plays),
    openReplies: there.flatMap(({ playId }) => (facts.get(playId)!.openReply ? [playId] : [])),
    gone: program.plays.flatMap(({ playId }) => (facts.has(playId) ? [] : [playId])),
  };
}

/** Whose play it is: who worked the position that it shows. */
export const shownPlay = (play: ProgramPlay, facts: PlayFacts): ShownPlay => ({
  playId: play.playId,
  week: facts.week,
  crewId: facts.crewId,
  teamIds: facts.teamIds,
  officialId: facts.officials[play.position] ?? `nobody ${facts.gameId} ${play.position}`,
  position: play.position,
  showing: play.showing,
});
