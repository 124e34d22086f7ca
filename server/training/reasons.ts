import type { Finding } from '../duties/finding.ts';
import type { Showing } from './lesson.ts';

/** What is known of one marked chance, by the season's released reports. */
interface MarkedForTraining {
  readonly outcome: 'missed' | 'met' | 'judged differently';
  readonly finding: Finding;
  /** How many observers marked it. */
  readonly observers: number;
  /** Place of its duty among the training topics, 1 the costliest; null where it is none. */
  readonly topicRank: number | null;
  /** The official misses that duty again and again (a pattern). */
  readonly isRepeat: boolean;
  /** The coordinator changed the mark, or took it back, after the official's reply. */
  readonly rulingChanged: boolean;
  /** A team asked about the play. */
  readonly askedAbout: boolean;
}

export const reasonKinds = [
  'training topic',
  'worth showing',
  'repeat miss',
  'observers differed',
  'changed ruling',
  'asked about by a team',
  'seen alike by two observers',
] as const;
type ReasonKind = (typeof reasonKinds)[number];

export interface Reason {
  readonly kind: ReasonKind;
  readonly points: number;
}

// Common practice, no source: what the whole staff gets wrong before what one official does, and a play that somebody
// already called worth showing before any other good one.
const pointsOf = {
  'worth showing': 4,
  'observers differed': 3,
  'changed ruling': 3,
  'asked about by a team': 2,
  'repeat miss': 2,
  'seen alike by two observers': 1,
} as const;

/** Points for the duty's place among the topics: 5 for the costliest, 1 from the thirteenth on. */
const topicPoints = (rank: number): number => Math.max(1, 5 - Math.floor((rank - 1) / 3));

/** Why a play should be shown, strongest first; empty where nothing is to be said for it. */
export function reasonsFor(mark: MarkedForTraining): Reason[] {
  const reasons: Reason[] = [];
  const add = (kind: keyof typeof pointsOf) => reasons.push({ kind, points: pointsOf[kind] });
  if (mark.topicRank !== null) reasons.push({ kind: 'training topic', points: topicPoints(mark.topicRank) });
  if (mark.outcome === 'met' && mark.finding === 'model') add('worth showing');
  if (mark.outcome === 'missed' && mark.isRepeat) add('repeat miss');
  if (mark.outcome === 'judged differently') add('observers differed');
  if (mark.rulingChanged) add('changed ruling');
  if (mark.askedAbout) add('asked about by a team');
  if (mark.outcome !== 'judged differently' && mark.observers > 1 && reasons.length > 0)
    add('seen alike by two observers');
  return reasons.sort((a, b) => b.points - a.points);
}

export const pointsFor = (reasons: readonly Reason[]): number =>
  reasons.reduce((sum, { points }) => sum + points, 0);

export const showingOf = ({ outcome }: Pick<MarkedForTraining, 'outcome'>): Showing =>
  outcome === 'met' ? 'good' : outcome === 'missed' ? 'bad' : 'to discuss';
