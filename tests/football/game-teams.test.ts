import { expect, test } from 'vitest';
import { shortTeams, teamSpellings, yardLineOf, yardsFrom } from '../../server/football/game-teams.ts';

const teams = { home: 'Larkmoor', visitor: 'Coppermesa' };

test('a team is written by its first three letters, or as many as tell the two apart', () => {
  expect(shortTeams(teams)).toEqual({ home: 'LAR', visitor: 'COP' });
  expect(shortTeams({ home: 'St. Alder', visitor: 'St. Ash' })).toEqual({ home: 'STAL', visitor: 'STAS' });
  expect(shortTeams({ home: '', visitor: '' })).toEqual({ home: 'HOME', visitor: 'VIS' });
  expect(teamSpellings(teams).home).toEqual(['LAR', 'Larkmoor', 'home']);
});

test('every yard line is read back as it is written', () => {
  for (const offense of ['home', 'visitor', undefined] as const) {
    for (let yards = 0; yards <= 100; yards++) {
      expect(yardsFrom(yardLineOf(yards, offense, teams), offense, teams)).toBe(yards);
    }
  }
});

test('a spot is read as people say it', () => {
  const read = (text: string) => yardsFrom(text, 'home', teams);
  expect(['LAR 27', 'lar27', 'Larkmoor 27', 'own 27', 'home 27', '27'].map(read)).toEqual(Array(6).fill(27));
  expect(['COP 12', 'opp 12', "opponent's 12", '88'].map(read)).toEqual(Array(4).fill(88));
  expect(['50', 'midfield', 'LAR 50', 'COP 50'].map(read)).toEqual(Array(4).fill(50));
  expect(['LAR goal line', 'COP goal'].map(read)).toEqual([0, 100]);
  expect(yardsFrom('COP 12', 'visitor', teams)).toBe(12);
});

test('what names no place is refused with what to write', () => {
  for (const text of ['', 'LAR', 'Fir 20', 'LAR 51', '111', 'twenty'])
    expect(() => yardsFrom(text, 'home', teams)).toThrow('write the side and the yard line, such as LAR 27');
  expect(() => yardsFrom('LAR 27', undefined, teams)).toThrow('such as own 27');
});
