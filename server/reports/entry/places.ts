import type { Play } from '../../football/play.ts';
import type { Lane } from '../../football/sides.ts';

/** A place of the ball on a play, which an observer shows on the strip of the field. */
export interface BallPlace {
  readonly key: 'came down' | 'caught' | 'fell' | 'came loose' | 'dead';
  readonly label: string;
  /** Where it is, yards from the offense's goal line, and where across; undefined: not said. */
  readonly yards: number | undefined;
  readonly lane: Lane | undefined;
  /** The part of the field where it usually is, from and to, yards from the offense's goal line. */
  readonly around: readonly [from: number, to: number];
  /** What it says of the play that the ball was there. */
  says(yards: number, lane: Lane | undefined): Partial<Play>;
}

const kicked = ({ kind }: Play) => kind === 'punt' || kind === 'free kick' || kind === 'place kick';
const within = (yards: number) => Math.max(0, Math.min(100, yards));

/** From end line to end line. */
export const wholeField: readonly [number, number] = [-10, 110];

/** A part of the field of this many yards that begins about here. */
function onTheField(from: number, yards: number): readonly [number, number] {
  const begin = Math.max(-10, Math.min(110 - yards, from));
  return [begin, begin + yards];
}

function aroundTheEnd(play: Play): readonly [number, number] {
  if (play.kind === 'punt' || play.kind === 'free kick')
    return play.kickTo === undefined ? wholeField : onTheField(play.kickTo - 40, 50);
  if (play.passResult === 'intercepted') return onTheField(play.spot + (play.catchDepth ?? 0) - 40, 50);
  return onTheField(play.spot - 15, 50);
}

/** The places that this play has, in the order in which the ball came to them. */
export function placesOf(play: Play): BallPlace[] {
  const places: BallPlace[] = [];
  const { kind, passResult, kickResult } = play;
  if (kind === 'no snap' || (kind === 'try' && play.tryBy !== 'run' && play.tryBy !== 'pass')) return places;
  const passed = kind === 'pass' || (kind === 'try' && play.tryBy === 'pass');
  const thrown = passed && (passResult === 'complete' || passResult === 'intercepted');
  if (thrown) places.push(caught(play));
  if (passed && passResult === 'incomplete') {
    if (play.snapFor !== 'spike') places.push(fell(play));
  } else {
    if ((kind === 'punt' || kind === 'free kick') && kickResult !== 'blocked') places.push(cameDown(play));
    if (play.looseBall !== undefined && play.looseBall !== 'none') places.push(cameLoose(play));
    if (!kicked(play) || carriesOn(play)) places.push(dead(play));
  }
  return places;
}

/** Is a kick not dead where it came down? */
const carriesOn = ({ kind, kickResult, looseBall }: Play) =>
  kind === 'place kick'
    ? kickResult === 'blocked'
    : kickResult === 'returned' ||
      kickResult === 'blocked' ||
      kickResult === 'downed' ||
      looseBall === 'muff';

const beyond = (play: Play) => (play.catchDepth === undefined ? undefined : play.spot + play.catchDepth);

const caught = (play: Play): BallPlace => ({
  key: 'caught',
  label: play.passResult === 'intercepted' ? 'Intercepted at' : 'Caught at',
  around: onTheField(play.spot - 10, 50),
  yards: beyond(play),
  lane: play.playSide,
  says: (yards, lane) => ({
    catchDepth: yards - play.spot,
    ...(lane !== undefined && { playSide: lane }),
  }),
});

/** An incomplete pass is dead where it falls, and next put in play where it was snapped. */
const fell = (play: Play): BallPlace => ({
  key: 'fell',
  label: 'Fell at',
  around: onTheField(play.spot - 10, 50),
  yards: beyond(play),
  lane: play.endSide ?? play.playSide,
  says: (yards, lane) => ({
    catchDepth: yards - play.spot,
    ...(lane !== undefined && { playSide: lane, endSide: lane }),
  }),
});

/** A fair catch, a touchback and a kick out of bounds are dead where they came down, as far as the log goes. */
const cameDown = (play: Play): BallPlace => ({
  key: 'came down',
  label: 'Came down at',
  around:
    play.kind === 'punt' ? onTheField(play.spot + 10, 60) : onTheField(play.onside ? play.spot - 5 : 60, 50),
  yards: play.kickTo,
  lane: play.kickSide,
  says: (yards, lane) => {
    const down: Partial<Play> = {
      kickTo: within(yards),
      ...(lane !== undefined && { kickSide: lane }),
    };
    if (play.kickResult !== 'fair catch' && play.kickResult !== 'out of bounds') return down;
    return { ...down, endSpot: within(yards), ...(lane !== undefined && { endSide: lane }) };
  },
});

const cameLoose = (play: Play): BallPlace => ({
  key: 'came loose',
  label: 'Came loose at',
  around: kicked(play) ? wholeField : onTheField(play.spot - 15, 50),
  yards: play.looseBallSpot,
  lane: play.looseBallSide,
  says: (yards, lane) => ({
    looseBallSpot: within(yards),
    ...(lane !== undefined && { looseBallSide: lane }),
  }),
});

const dead = (play: Play): BallPlace => ({
  key: 'dead',
  label: 'Dead at',
  around: aroundTheEnd(play),
  yards: play.endSpot,
  lane: play.endSide,
  says: (yards, lane) => ({ endSpot: yards, ...(lane !== undefined && { endSide: lane }) }),
});
