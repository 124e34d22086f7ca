import { pointView } from '../../development/pages/development-pages.ts';
import { playsQuery } from '../../development/pages/evidence-view.ts';
import { shownToOfficial } from '../../development/shown-to-official.ts';
import { findingInWords } from '../../duties/consequence.ts';
import { watchAddress } from '../../films/watchable.ts';
import { errorUnknown } from '../../grading/adjusted-grade.ts';
import { byKind } from '../../grading/grade-kinds.ts';
import { groupsOf } from '../../grading/group-by.ts';
import { kindTitles } from '../../letters/kind-titles.ts';
import { markView } from '../../reports/pages/mark-view.ts';
import { kindRows } from '../../results/pages/kind-rows.ts';
import { watchedBy } from '../../results/pages/watched-by.ts';
import { gradeTrendInWords } from '../../results/patterns/grade-trend.ts';
import type { DutyThatMatters } from '../../results/standings/duties-that-matter.ts';
import type { GameLine } from '../../schedule/season-overview.ts';
import { weekSpan, weekStrip } from '../../web/week-strip.ts';
import { happened } from '../happened.ts';
import type { NotedChance } from '../noted-chances.ts';
import type { WholeSeason, WorkedPosition } from '../official-season.ts';

/** So many plays of a duty stand on the page; all of them are one link away. */
const mostPlays = 6;

interface Reader {
  /** Of themself, within what is released to them; else the coordinator. */
  isOwn: boolean;
  now: Date;
  /** The season's games, for their teams. */
  games: ReadonlyMap<string, GameLine>;
  timeZone: string;
  /** Games whose film they may watch here. */
  watchable: ReadonlySet<string>;
}

/** An official's season as their page shows it, for the coordinator or for themself. */
export function officialView(whole: WholeSeason, reader: Reader) {
  const { season, official, noted, facts } = whole;
  const { isOwn } = reader;
  const points = isOwn ? shownToOfficial(whole.points) : whole.points;
  const pointViews = points.map((point) => ({
    ...pointView(point, { duties: whole.duties, people: new Map() }),
    plays: playsPage(whole, isOwn, point.position, point.dutyKey),
  }));
  const marks = noted.map((one) => notedView(whole, one, reader));
  const first = new Set<string>();
  for (const mark of marks) {
    mark.isFirstOfPlay = !first.has(mark.playId);
    first.add(mark.playId);
  }
  const answered = marks.flatMap((mark) =>
    mark.answers.filter(({ replied }) => replied).map((answer) => ({ ...mark, ...answer })),
  );
  const letters = whole.letters.filter(({ releasedAt }) => !isOwn || releasedAt !== null);
  return {
    season,
    official,
    ownPage: isOwn,
    timeZone: reader.timeZone,
    positions: whole.positions.map((position) => positionView(whole, position, marks, isOwn)),
    points: pointViews,
    markGames: groupsOf(marks, ({ gameId }) => gameId).map((own) => ({
      gameId: own[0]!.gameId,
      week: own[0]!.week,
      game: own[0]!.game,
      marks: own,
      misses: own.filter(({ isMiss }) => isMiss).length,
      open: own.some(({ answers }) => answers.some(({ mayReply }) => mayReply)),
      replyUntil: own[0]!.replyUntil,
    })),
    marks: marks.length,
    answered,
    letters: letters.map((letter) => ({ ...letter, title: kindTitles[letter.kind] })),
    games: whole.games.map(({ grades, ...row }) => ({
      ...row,
      grades: byKind((kind) => grades[kind].grade),
      game: reader.games.get(row.gameId),
      watchedBy: watchedBy(row.observers),
    })),
    history: happened(
      facts,
      points.flatMap((point, at) =>
        point.steps.map(({ kind, happenedOn, text }) => ({
          title: pointViews[at]!.title,
          kind,
          happenedOn,
          text,
          href: isOwn ? '#points' : `/development-points/${point.id}`,
        })),
      ),
    ),
  };
}

const playsPage = ({ season, official }: WholeSeason, isOwn: boolean, position: string, duty: string) =>
  `${isOwn ? '/my/patterns/plays' : `/seasons/${season.id}/officials/${official.id}/pattern`}?${playsQuery(
    { position, duty, situationCut: null },
    'not met',
  )}`;

type MarkOnPage = ReturnType<typeof notedView>;

function positionView(
  whole: WholeSeason,
  { position, games, grades, kinds, shares, calls, mechanics, toWorkOn, wentWell, trend }: WorkedPosition,
  marks: readonly MarkOnPage[],
  isOwn: boolean,
) {
  const { whole: grade } = grades;
  const told = new Set(toWorkOn.map(({ key }) => key));
  const span = weekSpan(toWorkOn.map((duty) => duty.weeks));
  const withPlays = (duty: DutyThatMatters) => {
    const plays = marks.filter(
      (mark) => mark.isMiss && mark.position === position && mark.dutyKey === duty.key,
    );
    return {
      ...duty,
      isBeyond: duty.certainty === 'beyond chance',
      hasPeers: duty.peersMissRate !== null,
      strip: weekStrip(
        duty.weeks.map((week) => ({ ...week, expected: null })),
        span.first,
        span.last,
      ),
      plays: plays.slice(0, mostPlays),
      more: Math.max(0, plays.length - mostPlays),
      allPlays: playsPage(whole, isOwn, position, duty.key),
    };
  };
  return {
    position,
    anchor: position.replaceAll(' ', '-'),
    games,
    shares,
    calls,
    mechanics,
    value: grade.grade,
    reason: kinds.whole.reason,
    adjusted: kinds.whole.adjusted && {
      ...kinds.whole.adjusted,
      unsure: errorUnknown(kinds.whole.adjusted),
    },
    kinds: kindRows(kinds),
    trend: gradeTrendInWords(trend, isOwn ? 'your' : 'the'),
    toWorkOn: toWorkOn.map(withPlays),
    wentWell: wentWell.map((duty) => ({
      ...duty,
      met: duty.opportunities - duty.misses,
      rate: 1 - duty.missRate,
      hasPeers: duty.peersMissRate !== null,
      peersRate: 1 - (duty.peersMissRate ?? 0),
      isBeyond: duty.certainty === 'beyond chance',
    })),
    contributions:
      grade.grade === null
        ? []
        : grade.contributions
            .filter((duty) => duty.pointsLost > 0)
            .map((duty) => ({
              ...duty,
              title: whole.duties.get(duty.duty)?.title ?? duty.duty,
              misses: duty.opportunities - duty.met,
              told: told.has(duty.duty),
              plays: playsPage(whole, isOwn, position, duty.duty),
            })),
  };
}

function notedView(whole: WholeSeason, one: NotedChance, { isOwn, now, watchable }: Reader) {
  const { season, official, films } = whole;
  const { chief } = one;
  const view = markView(chief);
  return {
    ...one,
    isFirstOfPlay: true,
    number: chief.number,
    where: view.where,
    quarter: view.quarter,
    clock: view.clock,
    duty: chief.duty,
    said: findingInWords(chief.finding, chief.consequence),
    tone: view.tone,
    play: `/games/${one.gameId}/plays/${one.playId}/duties?official=${official.id}`,
    film: watchAddress(watchable, {
      ...{ gameId: one.gameId, playId: one.playId, filmSeconds: chief.filmSeconds },
      filmLink: films.get(one.gameId) ?? null,
    }),
    filmSeconds: chief.filmSeconds,
    report: isOwn ? null : `/reports/${chief.reportId}`,
    season: season.id,
    replyUntil: chief.replyUntil,
    // Two observers are two marks, each with its own time to be answered.
    answers: one.marks.map((mark, at) => ({
      id: mark.id,
      several: one.marks.length > 1 ? at + 1 : undefined,
      replied: mark.replyId !== null,
      replyId: mark.replyId,
      reply: mark.reply,
      repliedAt: mark.repliedAt,
      ruling: mark.ruling,
      changedTo: mark.changedTo && findingInWords(mark.changedTo),
      rulingNote: mark.rulingNote,
      mayReply:
        isOwn &&
        mark.replyId === null &&
        !mark.removed &&
        (mark.replyUntil === null || mark.replyUntil >= now),
    })),
  };
}
