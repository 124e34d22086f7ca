import type { Code } from '../codes.ts';

/**
 * The field in yards, as a drawing lays it out: `x` across from the sideline on the head linesman's side, `y` along
 * from the end line behind the offense, which goes toward greater `y` for the whole play.
 * NCAA Football Rules and NFHS Football Rules, rule 1-2 and its diagram, from memory: check the current edition.
 */
export const fieldWidth = 160 / 3;
export const fieldLength = 120;
export const endZone = 10;

/** Yards from either sideline to the hash marks: 60 feet (college), 53 feet 4 inches (high school). */
export const hashFromSideline: Readonly<Record<Code, number>> = { college: 20, 'high school': 160 / 9 };

/** Yards between the uprights, which stand over the end line: 18 feet 6 inches, 23 feet 4 inches. */
export const betweenUprights: Readonly<Record<Code, number>> = { college: 18.5 / 3, 'high school': 70 / 9 };

export interface Point {
  readonly x: number;
  readonly y: number;
}

/** Where along the field a yard line is that a play counts 0..100 from the offense's goal line. */
export const alongOf = (yards: number): number => endZone + yards;

/** What a yard line is called from either end: 0 on the goal lines, 50 at midfield. */
export const nameOfYardLine = (yards: number): number => Math.min(yards, 100 - yards);

export const mirrorAcross = (x: number): number => fieldWidth - x;
