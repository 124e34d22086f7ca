import type { Play } from '../../server/football/play.ts';
import { type Position, positions } from '../../server/football/positions.ts';
import { usualPractices } from '../../server/football/practices.ts';
import { crewOnField } from '../../server/football/zones/crew-on-field.ts';
import { whoMayHaveEnded } from '../../server/football/zones/ending.ts';
import { touchdownOfficials } from '../../server/football/zones/goal-lines.ts';
import { goalLineOnAKick } from '../../server/football/zones/kicks.ts';
import { zoneOfTheLooseBall, zoneOfThePass } from '../../server/football/zones/ruling.ts';
import type { Draws } from '../draws.ts';

/** The demo's crews have all eight. */
const crew = crewOnField(positions, usualPractices);

type Zone = readonly Position[] | 'unknown';

/** Of those who share a place, the wings and the umpire are there more often than the center judge. */
const shares: Record<Position, number> = {
  referee: 4,
  umpire: 3,
  'center judge': 1,
  'head linesman': 3,
  'line judge': 3,
  'side judge': 3,
  'field judge': 3,
  'back judge': 3,
};

function oneOf(zone: Zone, draws: Draws): Position | undefined {
  if (zone === 'unknown' || zone.length === 0) return undefined;
  const weights = Object.fromEntries(zone.map((position) => [position, shares[position]]));
  return draws.weighted(weights) as Position;
}

const isThrown = (play: Play) =>
  (play.kind === 'pass' || play.tryBy === 'pass') &&
  (play.passResult === 'complete' || play.passResult === 'incomplete' || play.passResult === 'intercepted');

const overAGoalLine = (play: Play) => play.score === 'touchdown' || play.score === 'try good';

/** Whose ruling a pass is, from the facts of the play. */
export const whoRulesThePass = (play: Play, draws: Draws) => oneOf(zoneOfThePass(play, crew), draws);
/** Who is where the ball was dead. */
export const whoIsThere = (play: Play, draws: Draws) => oneOf(whoMayHaveEnded(play, crew), draws);

/** Who ended the play, out of those in whose zone it ended. Nobody does on an incomplete pass. */
function whoEnded(play: Play, draws: Draws): Position | undefined {
  if (play.kind === 'no snap' || play.passResult === 'incomplete') return undefined;
  if (play.kickResult === 'good' || play.kickResult === 'no good') return undefined;
  if (overAGoalLine(play)) return oneOf(touchdownOfficials(play, crew), draws);
  if (play.kickResult === 'touchback') return oneOf(goalLineOnAKick(play, crew), draws);
  return oneOf(whoMayHaveEnded(play, crew), draws);
}

/**
 * Who gave the ruling that mattered. A play with two rulings (a pass caught and then fumbled) has one name only where
 * the same official could give both; else it is left open, as an observer leaves it.
 */
function whoRuled(play: Play, draws: Draws): Position | undefined {
  const zones: Zone[] = [];
  if (isThrown(play)) zones.push(zoneOfThePass(play, crew));
  if (play.looseBall === 'fumble' || play.looseBall === 'muff' || play.fumbleOrDown)
    zones.push(zoneOfTheLooseBall(play, crew));
  if (overAGoalLine(play)) zones.push(touchdownOfficials(play, crew));
  if (zones.length === 0) return undefined;
  const shared = zones.reduce((left, right) =>
    left === 'unknown' || right === 'unknown'
      ? 'unknown'
      : left.filter((position) => right.includes(position)),
  );
  return oneOf(shared, draws);
}

/** Says who ended the play and who ruled on it. */
export function nameOfficials(play: Play, draws: Draws): void {
  const ended = whoEnded(play, draws);
  if (ended !== undefined) play.endedBy = ended;
  const ruled = whoRuled(play, draws);
  if (ruled !== undefined) play.ruledBy = ruled;
}
