import { positions } from '../../server/football/positions.ts';
import type { ClipProblem } from '../../server/training/clip-problem.ts';
import type { Lesson, Showing } from '../../server/training/lesson.ts';
import { pointsFor, reasonsFor } from '../../server/training/reasons.ts';
import { seeded } from './planning-instances.ts';

const weeks = 13;
const crews = 16;
const duties = 90;

/** A season's marked plays of an invented conference: 16 crews of eight, 13 weeks, clips of 10 to 40 seconds. */
export function seasonToTeach(plays: number, seed: number): ClipProblem {
  const random = seeded(seed);
  const pick = (n: number) => Math.floor(random() * n);
  const lessons = Array.from({ length: plays }, (_, n): Lesson => {
    const [week, slot] = [1 + pick(weeks), pick(crews / 2)];
    const crew = (slot + week * 3) % crews;
    const position = pick(positions.length);
    const duty = Math.min(pick(duties), pick(duties));
    const showing: Showing = random() < 0.45 ? 'good' : random() < 0.9 ? 'bad' : 'to discuss';
    const outcome = showing === 'good' ? 'met' : showing === 'bad' ? 'missed' : 'judged differently';
    const reasons = reasonsFor({
      outcome,
      finding: outcome === 'missed' ? 'missed' : random() < 0.5 ? 'model' : 'done',
      observers: random() < 0.2 ? 2 : 1,
      topicRank: duty < 15 ? duty + 1 : null,
      isRepeat: random() < 0.1,
      rulingChanged: random() < 0.02,
      askedAbout: random() < 0.02,
    });
    return {
      id: `lesson ${n}`,
      playId: `play ${n}`,
      gameId: `game ${week}-${slot}`,
      week,
      crewId: `crew ${crew}`,
      teamIds: [`team ${(slot * 2 + week) % 24}`, `team ${(slot * 2 + 1 + week) % 24}`],
      officialId: `official ${crew}-${position}`,
      position: positions[position]!,
      topic: `duty ${duty}`,
      showing,
      seconds: 10 + pick(31),
      points: pointsFor(reasons),
    };
  });
  return {
    lessons,
    locked: [],
    limits: { clips: 60, seconds: 25 * 60, mostBadOfOfficial: 2, topics: 8 },
  };
}
