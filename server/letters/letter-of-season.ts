import { quantileSorted } from 'simple-statistics';
import { effectOf, type Finding } from '../duties/finding.ts';
import type { Position } from '../football/positions.ts';
import { gradeGame } from '../grading/game-grade.ts';
import { mannKendall } from '../patterns/mann-kendall.ts';
import type { OfficialPattern, Strength } from '../patterns/official-patterns.ts';
import { followUp } from '../patterns/recurrence.ts';
import { situationCuts } from '../patterns/situation-cuts.ts';
import { dutyCountOf } from '../results/standings/duty-count.ts';
import { gathered } from '../results/standings/gathered.ts';
import type { SeasonCount } from '../results/standings/season-counts.ts';
import type { StandingLine } from '../results/standings/season-standings.ts';
import { replyOf } from './answering.ts';
import type { DevelopmentPoint, LetterData, LetterKind } from './letter-data.ts';
import { playLine } from './play-line.ts';
import type { LetterSeason, RaisedPoint, SeasonMark } from './season-source.ts';
import { formatDate, formatPercent } from './wording.ts';

/** What a letter says that isn't in the season's figures. Dates YYYY-MM-DD. */
export interface LetterOccasion {
  kind: LetterKind;
  issuedOn: string;
  /** Null: no answers are taken. */
  replyBy: string | null;
  /** Address of the page where one answers. */
  answerPage: string;
  coordinator: string;
}

/** Peers' grades are summed up only when there are this many, so that no single one shows through. */
export const fewestPeers = 5;

const mostModelPlays = 6;
const mostStrengths = 3;
const mostPlaysOfStrength = 3;

/** Everyone with a released report, in the position they worked most; family names in order. */
export function officialsOf({ counts, people }: LetterSeason): { personId: string; position: Position }[] {
  return gathered(counts, (row) => row.personId)
    .map((rows) => ({ personId: rows[0]!.personId, position: mainPosition(rows) }))
    .sort((a, b) => compareText(people.get(a.personId)?.name ?? '', people.get(b.personId)?.name ?? ''));
}

const compareText = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0);

function mainPosition(own: readonly SeasonCount[]): Position {
  const byPosition = gathered(own, (row) => row.position).map((rows) => ({
    position: rows[0]!.position,
    opportunities: rows.reduce((sum, row) => sum + row.opportunities, 0),
  }));
  return byPosition.sort(
    (a, b) => b.opportunities - a.opportunities || compareText(a.position, b.position),
  )[0]!.position;
}

/** The data of one official's letter: everything in it is a figure of the season or the coordinator's words. */
export function letterOfSeason(
  season: LetterSeason,
  personId: string,
  occasion: LetterOccasion,
  about: Position | null = null,
): LetterData {
  const all = season.counts.filter((row) => row.personId === personId);
  const position = about ?? (all.length > 0 ? mainPosition(all) : anyPosition(season, personId));
  const own = all.filter((row) => row.position === position);
  const standing = season.standings.lines.find(
    (one) => one.personId === personId && one.position === position,
  );
  const grade = gradeGame(own.map(dutyCountOf));
  const weeks = weeksOf(season, own);
  return {
    kind: occasion.kind,
    edition: 1,
    changes: [],
    issuedOn: occasion.issuedOn,
    conference: {
      name: season.conference.name,
      coordinator: occasion.coordinator,
      policy: season.conference.policyText.trim() || null,
    },
    season: {
      name: season.season.name,
      throughWeek: season.season.throughWeek,
      weeks: season.season.weeks,
    },
    official: {
      name: season.people.get(personId)?.name ?? 'Unknown',
      position,
      crew: season.crews.get(personId) ?? null,
    },
    otherPositions: otherPositions(all, position),
    totals: {
      games: new Set(own.map((row) => row.gameId)).size,
      opportunities: grade.opportunities,
      met: grade.met,
      misses: grade.opportunities - grade.met,
      observers: new Set(own.map((row) => row.observerId)).size,
      model: own.reduce((sum, row) => sum + row.model, 0),
    },
    grade: {
      raw: grade.grade,
      adjusted: standing?.adjusted?.grade ?? null,
      low: standing?.adjusted?.low ?? null,
      high: standing?.adjusted?.high ?? null,
      level: 90,
      reliability: standing?.adjusted?.reliability ?? null,
      reason: standing?.adjusted
        ? null
        : sentence(
            grade.grade === null ? grade.reason : (season.standings.notes[0] ?? 'not enough games yet'),
          ),
    },
    standing: place(season.standings.lines, standing, position),
    strengths: strengths(season, personId, position),
    modelPlays: season.marks
      .filter((mark) => mark.personId === personId && mark.position === position && mark.finding === 'model')
      .slice(0, mostModelPlays)
      .map((mark) => ({ ...playLine(mark), duty: titleOf(season, mark.dutyKey) })),
    development: season.patterns.patterns
      .filter((one) => one.official === personId && one.position === position && one.headline)
      .map((pattern) => developmentPoint(season, pattern)),
    weeks,
    trend: trendOf(weeks.flatMap(({ grade }) => (grade === null ? [] : [grade]))),
    reply: replyOf(occasion.replyBy, occasion.answerPage),
  };
}

function anyPosition(season: LetterSeason, personId: string): Position {
  const mark = season.marks.find((one) => one.personId === personId);
  return mark?.position ?? 'referee';
}

function otherPositions(all: readonly SeasonCount[], main: Position): LetterData['otherPositions'] {
  return gathered(
    all.filter((row) => row.position !== main),
    (row) => row.position,
  ).map((rows) => ({
    position: rows[0]!.position,
    games: new Set(rows.map((row) => row.gameId)).size,
    raw: gradeGame(rows.map(dutyCountOf)).grade,
  }));
}

/** Every week up to the last released one; an official's games of one week are graded together. */
function weeksOf({ season }: LetterSeason, own: readonly SeasonCount[]): LetterData['weeks'] {
  if (own.length === 0) return [];
  return Array.from({ length: season.throughWeek ?? 0 }, (_, index) => {
    const rows = own.filter((row) => row.week === index + 1);
    const grade = gradeGame(rows.map(dutyCountOf));
    return { week: index + 1, grade: grade.grade, opportunities: grade.opportunities, game: null };
  });
}

function trendOf(grades: readonly number[]): string | null {
  if (grades.length < 4) return null;
  const { direction } = mannKendall(grades);
  if (direction === 'rising') return 'Your grades rose over the weeks, by more than chance explains.';
  if (direction === 'falling') return 'Your grades fell over the weeks, by more than chance explains.';
  return 'Your grades show no clear trend over the weeks: they rose and fell as chance would have it.';
}

function place(
  standings: readonly StandingLine[],
  own: StandingLine | undefined,
  position: Position,
): LetterData['standing'] {
  const ranked = standings.filter(
    (one) => one.position === position && one.rank !== null && (!own || one.group === own.group),
  );
  const grades = ranked.flatMap(({ adjusted }) => (adjusted ? [adjusted.grade] : [])).sort((a, b) => a - b);
  const enough = grades.length >= fewestPeers;
  return {
    ranked: ranked.length,
    median: own?.rank?.median ?? null,
    best: own?.rank?.low ?? null,
    worst: own?.rank?.high ?? null,
    lowerQuartile: enough ? quantileSorted(grades, 0.25) : null,
    middle: enough ? quantileSorted(grades, 0.5) : null,
    upperQuartile: enough ? quantileSorted(grades, 0.75) : null,
    reason: own?.rank ? null : sentence(own?.unrankedReason ?? 'no graded game yet'),
  };
}

const sentence = (text: string): string => (/[.!?]$/.test(text) ? text : `${text}.`);

const titleOf = (season: LetterSeason, key: string): string => season.duties.get(key)?.title ?? key;

function titleWithCut(season: LetterSeason, { duty, situationCut }: OfficialPattern | Strength): string {
  const title = titleOf(season, duty);
  return situationCut === null ? title : `${title}, ${situationCut}`;
}

/** The official's marks of a duty, and within a cut only those on its plays. */
function marksOf(
  season: LetterSeason,
  { official, position, duty, situationCut }: OfficialPattern | Strength,
) {
  const cut = situationCuts.find(({ key }) => key === situationCut);
  return season.marks.filter(
    (mark) =>
      mark.personId === official &&
      mark.position === position &&
      mark.dutyKey === duty &&
      (!cut || cut.decide(mark.play) === true),
  );
}

function strengths(season: LetterSeason, personId: string, position: Position): LetterData['strengths'] {
  const seen = new Set<string>();
  return season.patterns.strengths
    .filter((one) => one.official === personId && one.position === position)
    .filter(({ duty }) => !seen.has(duty) && seen.add(duty))
    .slice(0, mostStrengths)
    .map((strength) => ({
      duty: titleWithCut(season, strength),
      met: strength.opportunities - strength.misses,
      opportunities: strength.opportunities,
      rate: 1 - strength.missRate,
      peersRate:
        strength.peers.opportunities > 0 ? 1 - strength.peers.events / strength.peers.opportunities : null,
      plays: marksOf(season, strength)
        .filter(({ finding }) => effectOf(finding as Finding) === 'met')
        .slice(0, mostPlaysOfStrength)
        .map(playLine),
    }));
}

function developmentPoint(season: LetterSeason, pattern: OfficialPattern): DevelopmentPoint {
  const missed = marksOf(season, pattern).filter(({ finding }) => effectOf(finding as Finding) === 'not met');
  const raised = season.raised.find(
    (one) =>
      one.personId === pattern.official &&
      one.position === pattern.position &&
      one.dutyKey === pattern.duty &&
      (one.situationCut === '' || one.situationCut === (pattern.situationCut ?? '')),
  );
  return {
    duty: titleWithCut(season, pattern),
    category: season.duties.get(pattern.duty)?.category ?? '',
    misses: pattern.misses,
    opportunities: pattern.opportunities,
    rate: pattern.missRate,
    low: pattern.interval.low,
    high: pattern.interval.high,
    peersRate: pattern.peers.opportunities > 0 ? pattern.peers.events / pattern.peers.opportunities : null,
    games: pattern.gamesWithMisses,
    guidance: season.duties.get(pattern.duty)?.guidance.trim() || null,
    raisedBefore: raised ? sinceRaised(season, pattern, raised, missed) : null,
    byGame: gathered(pattern.weeks, ({ week }) => String(week)).map((games) => ({
      label: `Week ${games[0]!.week}`,
      opportunities: games.reduce((sum, game) => sum + game.opportunities, 0),
      misses: games.reduce((sum, game) => sum + game.misses, 0),
    })),
    plays: missed.map(playLine),
  };
}

/** Both rates, before and since, and whether the difference is more than chance. */
function sinceRaised(
  season: LetterSeason,
  pattern: OfficialPattern,
  raised: RaisedPoint,
  marks: readonly SeasonMark[],
): string {
  const dayOf = new Map<string, string>();
  for (const mark of season.marks) dayOf.set(mark.gameId, mark.day);
  for (const mark of marks) dayOf.set(mark.gameId, mark.day);
  const count = (games: typeof pattern.weeks) => ({
    events: games.reduce((sum, game) => sum + game.misses, 0),
    opportunities: games.reduce((sum, game) => sum + game.opportunities, 0),
  });
  const isAfter = ({ game }: { game: string }) => (dayOf.get(game) ?? '') > raised.on;
  const after = pattern.weeks.filter(isAfter);
  const before = pattern.weeks.filter((game) => !isAfter(game));
  const peersRate =
    pattern.peers.opportunities > 0 ? pattern.peers.events / pattern.peers.opportunities : null;
  const found = followUp(
    count(before),
    count(after),
    after.filter(({ opportunities }) => opportunities > 0).length,
    peersRate,
  );
  const how = raised.kind === 'letter' ? 'named in a letter' : 'talked about';
  const rates = `before, ${found.before.events} of ${found.before.opportunities} missed (${formatPercent(found.before.rate)}); since, ${found.after.events} of ${found.after.opportunities} (${formatPercent(found.after.opportunities > 0 ? found.after.rate : null)})`;
  const verdicts = {
    'too early to tell': 'It is too early to tell whether that has changed.',
    'fewer misses': 'That is fewer than before, by more than chance explains.',
    'no change shown': 'That shows no change.',
    'more misses': 'That is more than before, by more than chance explains.',
  };
  return `It was ${how} on ${formatDate(raised.on)}: ${rates}. ${verdicts[found.verdict]}`;
}
