import { type LinearModel, PackedModel } from '../planning/packed-model.ts';
import { mostOfEach } from './balance.ts';
import { type ClipProblem, goodPerTopic, mostGoodForBad, prices } from './clip-problem.ts';
import { isBad, type Lesson } from './lesson.ts';

type Terms = (readonly [column: number, value: number])[];

const atMost = (rows: PackedModel, upper: number, terms: Terms): void => rows.row(-Infinity, upper, terms);

function by<K>(lessons: readonly Lesson[], keys: (lesson: Lesson) => readonly K[]): Map<K, number[]> {
  const groups = new Map<K, number[]>();
  lessons.forEach((lesson, at) => {
    for (const key of keys(lesson)) {
      const group = groups.get(key);
      if (group) group.push(at);
      else groups.set(key, [at]);
    }
  });
  return groups;
}

const ones = (columns: readonly number[], value = 1): Terms => columns.map((at) => [at, value]);

/**
 * The choice of plays as an integer program, a knapsack with more rules: minimise what praise alone and more bad
 * than good plays of somebody cost, less the plays' points. Column i is lesson i. Written so that its linear relaxation is tight, which is
 * what makes the proof short:
 *
 * - a topic is opened as a warehouse is in the uncapacitated facility location problem, by a row for each play and not
 *   by one for all of them (Cornuejols, G., Nemhauser, G. L. and Wolsey, L. A. (1990), "The uncapacitated facility
 *   location problem", in Mirchandani and Francis (eds.), Discrete Location Theory, Wiley, 119-171);
 * - an official's bad plays beyond their good ones are one column, whole by itself since the plays are. Whether somebody
 *   is in bad plays only would need whole numbers of its own, and took ten times as long to prove;
 * - how many plays a crew, position, week or team may have is a limit. With a price for each play over an even share in
 *   its place, the proof took thirty times as long.
 *
 * What is locked is in; limits that it breaks already are as wide as it needs, so that there always is an answer.
 */
export function clipModel({ lessons, locked, limits }: ClipProblem): LinearModel {
  const rows = new PackedModel();
  const stays = new Set(locked);
  const isLocked = (at: number) => stays.has(lessons[at]!.id);
  for (const { id, points } of lessons) rows.column(-points, stays.has(id) ? 1 : 0, 1, true);
  const all = lessons.map((_, at) => at);
  const good = all.filter((at) => !isBad(lessons[at]!.showing));
  const bad = all.filter((at) => isBad(lessons[at]!.showing));
  const lockedOf = (columns: readonly number[]) => columns.filter(isLocked).length;
  const secondsOf = (columns: readonly number[]) =>
    columns.reduce((sum, at) => sum + lessons[at]!.seconds, 0);

  const clips = Math.max(limits.clips, lockedOf(all));
  atMost(rows, clips, ones(all));
  atMost(
    rows,
    Math.max(limits.seconds, secondsOf(all.filter(isLocked))),
    all.map((at) => [at, lessons[at]!.seconds]),
  );
  atMost(rows, Math.max(0, lockedOf(bad) - lockedOf(good)), [...ones(bad), ...ones(good, -1)]);
  for (const [, own] of by(lessons, ({ playId }) => [playId]))
    if (own.length > 1) atMost(rows, Math.max(1, lockedOf(own)), ones(own));

  const allBad = rows.column(0, 0, Infinity, false);
  atMost(rows, 0, [[allBad, 1], ...ones(bad, -1)]);
  const praise = rows.column(prices.onlyPraise, 0, Infinity, false);
  atMost(rows, 0, [...ones(good), [allBad, -mostGoodForBad], [praise, -1]]);
  // At most a third of the bad plays, rounded up: in whole plays, 3 times the crew's own <= all + 2.
  for (const [, own] of by(lessons, ({ crewId }) => (crewId === null ? [] : [crewId]))) {
    const ownBad = own.filter((at) => isBad(lessons[at]!.showing));
    const room = Math.max(2, 3 * lockedOf(ownBad) - lockedOf(bad));
    if (ownBad.length > 0) atMost(rows, room, [...ones(ownBad, 3), [allBad, -1]]);
  }
  officialRows(rows, lessons, limits.mostBadOfOfficial, lockedOf);
  topicRows(rows, lessons, limits.topics, lockedOf);

  const spread = <K>(keys: (lesson: Lesson) => readonly K[], each: number) => {
    const groups = by(lessons, keys);
    const most = mostOfEach(each * clips, groups.size);
    for (const [, own] of groups) {
      const room = Math.max(most, lockedOf(own));
      if (own.length > room) atMost(rows, room, ones(own));
    }
  };
  spread(({ crewId }) => (crewId === null ? [] : [crewId]), 1);
  spread(({ position }) => [position], 1);
  spread(({ week }) => [week], 1);
  spread(({ teamIds }) => teamIds, 2);
  return rows;
}

type Count = (columns: readonly number[]) => number;

/** Nobody in too many bad plays; each beyond their good ones costs. */
function officialRows(rows: PackedModel, lessons: readonly Lesson[], most: number, lockedOf: Count): void {
  for (const [, own] of by(lessons, ({ officialId }) => [officialId])) {
    const ownBad = own.filter((at) => isBad(lessons[at]!.showing));
    if (ownBad.length === 0) continue;
    const room = Math.max(most, lockedOf(ownBad));
    if (ownBad.length > room) atMost(rows, room, ones(ownBad));
    const ownGood = own.filter((at) => !isBad(lessons[at]!.showing));
    const more = rows.column(prices.moreBad, 0, Infinity, false);
    atMost(rows, 0, [...ones(ownBad), ...ones(ownGood, -1), [more, -1]]);
  }
}

/** Few topics, each with good plays enough to open and close it. */
function topicRows(rows: PackedModel, lessons: readonly Lesson[], most: number, lockedOf: Count): void {
  const opened: number[] = [];
  let openAlready = 0;
  for (const [, own] of by(lessons, ({ topic }) => [topic])) {
    const isOpen = lockedOf(own) > 0;
    if (isOpen) openAlready += 1;
    const open = rows.column(0, isOpen ? 1 : 0, 1, true);
    opened.push(open);
    for (const at of own)
      atMost(rows, 0, [
        [at, 1],
        [open, -1],
      ]);
    const ownGood = own.filter((at) => !isBad(lessons[at]!.showing));
    // What was put in by hand may be all that its topic has.
    const needed = isOpen ? Math.min(goodPerTopic, lockedOf(ownGood)) : goodPerTopic;
    atMost(rows, 0, [[open, needed], ...ones(ownGood, -1)]);
  }
  atMost(rows, Math.max(most, openAlready), ones(opened));
}
