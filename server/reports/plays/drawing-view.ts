import {
  drawingInWords,
  impossiblePlaces,
  listed,
  markInWords,
  notDrawn,
  whoseItWas,
} from '../../football/drawing/drawing-words.ts';
import { drawPlay } from '../../football/drawing/play-drawing.ts';
import { type Position, positionLetter } from '../../football/positions.ts';
import { fieldSvg } from './field-svg.ts';
import type { PlayDuties } from './play-duties.ts';

/** Where on the page stands what a position owed. */
export const anchorOf = (position: Position): string => `owed-${position.replaceAll(' ', '-')}`;

/** The play as a picture of the field, and in words all that the picture shows, for the page. */
export function drawingView({ play, field, code, teams, owed, crew }: PlayDuties) {
  const owing = new Map<Position, number>();
  for (const { position } of owed) owing.set(position, (owing.get(position) ?? 0) + 1);
  const drawing = drawPlay(play, field, code, new Set(owing.keys()));
  const manned = crew.present.length > 0;
  return {
    svg: fieldSvg(drawing, teams, drawingInWords(drawing, teams)),
    marks: drawing.marks.map((mark) => markInWords(mark, teams)),
    whose: manned
      ? whoseItWas(play, field).map(({ what, who, logged }) => ({
          what,
          who: listed(who),
          logged,
          open: !logged && who.length > 1,
        }))
      : [],
    zone: drawing.zone === undefined || !manned ? undefined : listed(drawing.zone.officials),
    lineToGain: drawing.lineToGain !== undefined,
    isFreeKick: drawing.receivingLine !== undefined,
    throughTheAir: drawing.path.some(({ by }) => by === 'air'),
    wayNotLogged: drawing.path.some(({ by }) => by === 'not logged'),
    spread: drawing.marks.some(({ across }) => across.from !== across.to),
    snapInTheMiddle: play.snapSide === undefined,
    notDrawn: notDrawn(play, drawing),
    impossible: impossiblePlaces(play, drawing),
    officials: drawing.officials.map(({ position }) => ({
      position,
      letter: positionLetter[position],
      owes: owing.get(position) ?? 0,
      anchor: anchorOf(position),
    })),
  };
}
