import type { Play } from '../play.ts';
import type { Position } from '../positions.ts';
import { yardLineInWords } from '../yard-line-words.ts';
import type { CrewOnField } from '../zones/crew-on-field.ts';
import { leavesASpot, spotOwner, whoMayHaveEnded } from '../zones/ending.ts';
import { touchdownOfficials } from '../zones/goal-lines.ts';
import { zoneOfTheLooseBall, zoneOfThePass } from '../zones/ruling.ts';
import { type BallMark, beyondTheField } from './ball-marks.ts';
import type { PlayDrawing } from './play-drawing.ts';

/** Who has the ball and who defends, by name. */
export interface Teams {
  readonly offense: string;
  readonly defense: string;
}

/** `Lakeview’s 40` when it is known who has the ball, else `own 40`. */
export const placeInWords = (yards: number, teams: Teams | undefined): string =>
  teams === undefined
    ? yardLineInWords(yards)
    : yardLineInWords(yards, ofTeam(teams.offense), ofTeam(teams.defense));

const ofTeam = (name: string) => (name.endsWith('s') ? `${name}’` : `${name}’s`);

const happened: Readonly<Record<BallMark['kind'], string>> = {
  snapped: 'Snapped',
  kicked: 'Kicked',
  caught: 'Caught',
  'fell incomplete': 'Fell incomplete',
  intercepted: 'Intercepted',
  'kick came down': 'Kick came down',
  'came loose': 'Came loose',
  dead: 'Dead',
};

/** `Dead at Lakeview's 44, out of bounds on the line judge's side` */
export function markInWords(mark: BallMark, teams: Teams | undefined): string {
  return `${happened[mark.kind]} ${mark.yards < 0 || mark.yards > 100 ? 'in' : 'at'} ${placeInWords(mark.yards, teams)}${acrossInWords(mark)}`;
}

function acrossInWords({ kind, lane, out, across }: BallMark): string {
  if (lane === undefined) return '';
  const putInPlay = kind === 'snapped' || kind === 'kicked';
  if (lane === 'middle') return putInPlay ? ', in the middle' : ', between the hash marks';
  const side = lane.replace(' side', '’s side');
  if (putInPlay) return `, on the hash mark of the ${side}`;
  if (out) return `, out of bounds on the ${side}`;
  if (across.from !== across.to) return `, on the ${side}`;
  const yards = Math.round(Math.min(across.from, 160 / 3 - across.from));
  return `, ${yards} ${yards === 1 ? 'yard' : 'yards'} in from the sideline on the ${side}`;
}

/** What a reader may miss in the drawing, because nobody logged it. */
export function notDrawn(play: Play, drawing: PlayDrawing): readonly string[] {
  const has = (kind: BallMark['kind']) => drawing.marks.find((mark) => mark.kind === kind);
  const { kind, passResult, kickResult } = play;
  const missing: string[] = [];
  const place = (mark: BallMark | undefined, where: string, side: string) => {
    if (mark === undefined) missing.push(where);
    else if (mark.lane === undefined) missing.push(side);
  };
  if (play.offense === undefined) missing.push('which team had the ball');
  if (drawing.lineUp === 'unknown') missing.push('how the try was made, and so where the crew stood');
  const downs = kind !== 'free kick' && kind !== 'try';
  if (downs && (play.down === undefined || play.distance === undefined)) missing.push('the line to gain');
  if (kind === 'pass' && passResult === undefined) missing.push('what became of the pass');
  if (kind === 'pass' && passResult === 'complete')
    place(has('caught'), 'where the pass was caught', 'the side of the catch');
  if (kind === 'pass' && passResult === 'incomplete')
    place(has('fell incomplete'), 'where the pass fell', 'the side where the pass fell');
  if (kind === 'pass' && passResult === 'intercepted')
    place(has('intercepted'), 'where it was intercepted', 'the side of the interception');
  if ((kind === 'punt' || kind === 'free kick') && kickResult !== 'blocked')
    place(has('kick came down'), 'where the kick came down', 'the side the kick came down on');
  if (play.looseBall !== undefined && play.looseBall !== 'none')
    place(has('came loose'), 'where the ball came loose', 'the side where it came loose');
  if (leavesASpot(play) !== false)
    place(has('dead'), 'where the ball was dead', 'the side where the ball was dead');
  return missing;
}

/** Places that were logged and cannot be: beyond the end lines. */
export function impossiblePlaces(play: Play, drawing: PlayDrawing): readonly string[] {
  return beyondTheField(play, drawing.code).map((mark) => markInWords(mark, undefined));
}

/** An answer to `who`, with whether the log or only the zone says so. */
interface WhoseItWas {
  readonly what: string;
  readonly who: readonly Position[];
  readonly logged: boolean;
}

/** Who has the spot, who ended the play, who ruled: as logged, else in whose zone it was. What is not known is left out. */
export function whoseItWas(play: Play, crew: CrewOnField): readonly WhoseItWas[] {
  if (play.kind === 'no snap') return [];
  const answers: WhoseItWas[] = [];
  const owner = spotOwner(play, crew);
  if (owner !== 'nobody' && owner !== 'unknown')
    answers.push({ what: 'Has the spot', who: [owner], logged: false });
  const ended = whoMayHaveEnded(play, crew);
  if (ended !== 'unknown' && play.passResult !== 'incomplete')
    answers.push({ what: 'Ended the play', who: ended, logged: play.endedBy !== undefined });
  const ruled = ruling(play, crew);
  if (ruled !== undefined && ruled !== 'unknown' && ruled.length > 0)
    answers.push({ what: 'Ruled on it', who: ruled, logged: play.ruledBy !== undefined });
  return answers;
}

function ruling(play: Play, crew: CrewOnField): readonly Position[] | 'unknown' | undefined {
  if (play.ruledBy !== undefined) return [play.ruledBy];
  if (play.score === 'touchdown') return touchdownOfficials(play, crew);
  if (play.looseBall !== undefined && play.looseBall !== 'none') return zoneOfTheLooseBall(play, crew);
  const { passResult } = play;
  if (passResult === 'complete' || passResult === 'incomplete' || passResult === 'intercepted')
    return zoneOfThePass(play, crew);
  return undefined;
}

/** The drawing in sentences, for who cannot see it. */
export function drawingInWords(drawing: PlayDrawing, teams: Teams | undefined): string {
  const ball = drawing.marks.map((mark) => markInWords(mark, teams)).join('; ');
  const standing = drawing.officials.map(({ position, y, x }) => {
    const beyond = Math.round(y - drawing.lineOfScrimmage);
    const along =
      beyond === 0
        ? 'level with the ball'
        : `${Math.abs(beyond)} yards ${beyond > 0 ? 'beyond' : 'behind'} the ball`;
    return `${position} ${along}${x < 0 || x > 160 / 3 ? ', outside the sideline' : ''}`;
  });
  const zone =
    drawing.zone === undefined ? '' : ` The ball ended in the zone of ${listed(drawing.zone.officials)}.`;
  return `The field with the ball’s places. ${ball}.${zone}${
    standing.length === 0 ? '' : ` Before the ball was put in play: ${standing.join('; ')}.`
  }`;
}

/** `the head linesman`, `the umpire or the referee` */
export function listed(officials: readonly Position[]): string {
  const named = officials.map((position) => `the ${position}`);
  return named.length < 2 ? (named[0] ?? 'nobody') : `${named.slice(0, -1).join(', ')} or ${named.at(-1)}`;
}
