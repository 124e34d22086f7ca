import type { Database } from '../database/database.ts';
import type { Queryable } from '../database/transaction.ts';
import { type Consequence, findingInWords } from '../duties/consequence.ts';
import type { Position } from '../football/positions.ts';
import { readMarkedChances } from '../results/marked-chances.ts';
import { type DutyName, dutiesOfSeason, readDuties } from '../results/patterns/pattern-counts.ts';
import type { SeasonResults } from '../results/season-results.ts';
import type { Lesson, Showing } from '../training/lesson.ts';
import { pointsFor, type Reason, reasonsFor, showingOf } from '../training/reasons.ts';
import { clipSeconds, usualSeconds } from '../training/running-time.ts';
import {
  type PlayFacts,
  playsAskedAbout,
  playsWithChangedRuling,
  readPlayFacts,
} from './stores/play-facts.ts';

/** A play that is worth showing, for one official's duty on it, and why. For the coordinator alone. */
export interface Candidate {
  /** Of this play, official, duty and position; the same as long as the season's reports are. */
  readonly id: string;
  readonly facts: PlayFacts;
  readonly officialId: string;
  readonly position: Position;
  readonly dutyKey: string;
  readonly duty: DutyName | undefined;
  readonly showing: Showing;
  /** What was found, in words. */
  readonly said: string;
  readonly observers: number;
  readonly remarks: readonly string[];
  readonly reasons: readonly Reason[];
  readonly points: number;
  /** Place of its duty among the training topics, 1 the costliest; null where it is none. */
  readonly topicRank: number | null;
}

/** How many of the costliest duties are training topics, as on their page. */
const topicsShown = 15;

/** A season's candidates, those with most said for them first. */
export async function readCandidates(
  { pool }: Pick<Database, 'pool'>,
  results: SeasonResults,
  conferenceId: string,
  seasonId: string,
): Promise<Candidate[]> {
  const patterns = await results.patternsOf(conferenceId, seasonId);
  const wholeGame = await dutiesOfWholeGames(pool, conferenceId, seasonId);
  const ranked = patterns.conference
    .filter(({ misses, duty }) => misses > 0 && !wholeGame.has(duty))
    .slice(0, topicsShown);
  const rankOf = new Map(ranked.map(({ duty }, at) => [duty, at + 1]));
  const key = (...parts: string[]) => parts.join(' ');
  const repeats = new Set(
    patterns.patterns.map(({ official, position, duty }) => key(official, position, duty)),
  );
  const changed = new Set(
    (await playsWithChangedRuling(pool, conferenceId, seasonId)).map((one) =>
      key(one.playId, one.personId, one.dutyKey),
    ),
  );
  const asked = await playsAskedAbout(pool, conferenceId, seasonId);
  const duties = await readDuties(pool, conferenceId, seasonId);
  const found = (await readMarkedChances(pool, { conferenceId, seasonId })).flatMap((chance) => {
    const { outcome, finding, observers, personId, position, dutyKey, playId } = chance;
    if (outcome === 'not counted' || wholeGame.has(dutyKey)) return [];
    const reasons = reasonsFor({
      outcome,
      finding,
      observers,
      topicRank: rankOf.get(dutyKey) ?? null,
      isRepeat: repeats.has(key(personId, position, dutyKey)),
      rulingChanged: changed.has(key(playId, personId, dutyKey)),
      askedAbout: asked.has(playId),
    });
    return reasons.length === 0 ? [] : [{ chance, reasons }];
  });
  const facts = await readPlayFacts(pool, conferenceId, [
    ...new Set(found.map(({ chance }) => chance.playId)),
  ]);
  return found
    .flatMap(({ chance, reasons }): Candidate[] => {
      const ofPlay = facts.get(chance.playId);
      if (!ofPlay) return [];
      const { personId, position, dutyKey, observers, remarks } = chance;
      return [
        {
          id: key(chance.playId, personId, dutyKey, position),
          facts: ofPlay,
          officialId: personId,
          position,
          dutyKey,
          duty: duties.get(dutyKey),
          showing: showingOf(chance as { outcome: 'missed' | 'met' | 'judged differently' }),
          said: saidOf(chance.outcome, chance.finding, chance.consequence),
          observers,
          remarks,
          reasons,
          points: pointsFor(reasons),
          topicRank: rankOf.get(dutyKey) ?? null,
        },
      ];
    })
    .sort(
      (a, b) =>
        b.points - a.points ||
        a.facts.week - b.facts.week ||
        (a.facts.game < b.facts.game ? -1 : a.facts.game > b.facts.game ? 1 : 0) ||
        a.facts.number - b.facts.number ||
        (a.id < b.id ? -1 : 1),
    );
}

/** What is owed once a game: no one play shows it. */
async function dutiesOfWholeGames(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<ReadonlySet<string>> {
  const { rows } = await db.query<{ key: string; per: string | null }>(
    dutiesOfSeason("d.key, d.definition ->> 'per' AS per", '$1', '$2'),
    [conferenceId, seasonId],
  );
  return new Set(rows.filter(({ per }) => per === 'game').map(({ key }) => key));
}

const saidOf = (outcome: string, finding: Parameters<typeof findingInWords>[0], cost: Consequence | null) =>
  outcome === 'judged differently' ? 'observers differed' : findingInWords(finding, cost);

/** The candidate as the chooser takes it. */
export const lessonOf = (candidate: Candidate): Lesson => ({
  id: candidate.id,
  playId: candidate.facts.playId,
  gameId: candidate.facts.gameId,
  week: candidate.facts.week,
  crewId: candidate.facts.crewId,
  teamIds: candidate.facts.teamIds,
  officialId: candidate.officialId,
  position: candidate.position,
  topic: candidate.dutyKey,
  showing: candidate.showing,
  seconds: clipSeconds({ secondsBefore: usualSeconds.before, secondsAfter: usualSeconds.after }),
  points: candidate.points,
});
