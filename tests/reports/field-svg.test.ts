import { parseHTML } from 'linkedom';
import { describe, expect, it } from 'vitest';
import { positionsOf } from '../../server/football/crews.ts';
import { drawPlay } from '../../server/football/drawing/play-drawing.ts';
import type { Play } from '../../server/football/play.ts';
import { usualPractices } from '../../server/football/practices.ts';
import { crewOnField } from '../../server/football/zones/crew-on-field.ts';
import { fieldSvg } from '../../server/reports/plays/field-svg.ts';
import { placeBox } from '../../server/reports/plays/label-places.ts';

const teams = { offense: 'Lakeview', defense: 'Harbor <Point>' };
function picture(play: Play) {
  const drawing = drawPlay(play, crewOnField(positionsOf(7), usualPractices), 'college', new Set(['umpire']));
  const { document } = parseHTML(`<html><body>${fieldSvg(drawing, teams, 'words')}</body></html>`);
  return document.querySelector('svg')!;
}
type Svg = ReturnType<typeof picture>;
const all = (svg: Svg, name: string) => [...svg.querySelectorAll(`.${name}`)];
const at = (element: Element, name: string) => Number(element.getAttribute(name));
const texts = (svg: Svg, name: string) => all(svg, name).map((element) => element.textContent);

describe('the picture of a play', () => {
  it('numbers every tenth yard as people say them, on both sides, up the page the way the offense goes', () => {
    const numbers = all(picture({ kind: 'run', spot: 40, endSpot: 44, endSide: 'middle' }), 'field-number');
    const onTheLeft = numbers.filter((_, index) => index % 2 === 0);
    expect(onTheLeft.map((number) => number.textContent)).toEqual(['30', '40', '50', '40', '30']);
    const heights = onTheLeft.map((number) => at(number, 'y'));
    // Ten yards apart, ten units to the yard.
    expect(heights.map((height) => heights[0]! - height)).toEqual([0, 100, 200, 300, 400]);
  });

  it('has the goal line where the offense has so many yards to go, and the end zone with its team', () => {
    const svg = picture({ kind: 'run', spot: 98, endSpot: 100, endSide: 'head linesman side' });
    const [goalLine] = all(svg, 'field-goal-line');
    const scrimmage = all(svg, 'field-scrimmage')[0]!;
    expect(at(scrimmage, 'y1') - at(goalLine!, 'y1')).toBe(20);
    expect(texts(svg, 'field-side')).toContain('Harbor <Point> end zone');
    expect(svg.querySelectorAll('point')).toHaveLength(0);
  });

  it('is as wide as the field to scale, with what is drawn inside the picture', () => {
    const svg = picture({
      kind: 'punt',
      spot: 28,
      kickResult: 'returned',
      kickTo: 71,
      kickSide: 'middle',
      endSpot: 60,
      endSide: 'head linesman side',
      outOfBounds: true,
    });
    const [left, right] = all(svg, 'field-border').map((border) => at(border, 'x1'));
    expect(right! - left!).toBeCloseTo(1600 / 3, 0);
    const [, , width, height] = svg.getAttribute('viewBox')!.split(' ').map(Number);
    for (const disc of all(svg, 'field-disc')) {
      const radius = at(disc, 'r') + 4;
      expect(at(disc, 'cx') - radius).toBeGreaterThanOrEqual(0);
      expect(at(disc, 'cx') + radius).toBeLessThanOrEqual(width!);
      expect(at(disc, 'cy') - radius).toBeGreaterThanOrEqual(0);
      expect(at(disc, 'cy') + radius).toBeLessThanOrEqual(height!);
    }
    expect(texts(svg, 'field-flag-words')).toEqual(['1 snap', '2 comes down', '3 dead']);
    expect(all(svg, 'field-air')).toHaveLength(1);
  });

  it('rings only who owed something', () => {
    const owing = all(picture({ kind: 'run', spot: 40 }), 'field-official').filter((official) =>
      official.querySelector('.field-ring'),
    );
    expect(owing.map((official) => official.textContent)).toEqual(['U']);
  });
});

describe('a place for a label', () => {
  const within = { left: 0, right: 200, top: 0, bottom: 200 };
  const size = { width: 40, height: 20 };

  it('is beside its point and off what is taken', () => {
    const free = placeBox({ x: 100, y: 100 }, size, within, []);
    expect(free.left).toBeGreaterThan(100);
    const other = placeBox({ x: 100, y: 100 }, size, within, [free]);
    expect(other.right <= free.left || other.top >= free.bottom || other.bottom <= free.top).toBe(true);
  });

  it('stays within the picture at its edge', () => {
    expect(placeBox({ x: 195, y: 100 }, size, within, []).right).toBeLessThan(195);
  });
});
