import { expect, test } from 'vitest';
import { filmAddress } from '../../server/games/film-address.ts';

// W3C Media Fragments URI 1.0, section 4.2.1: #t=SECONDS
test('a film opens at the play, and only from the web', () => {
  expect(filmAddress('https://film.example/game.mp4', 61.7)).toBe('https://film.example/game.mp4#t=61');
  expect(filmAddress('https://film.example/game.mp4', null)).toBe('https://film.example/game.mp4');
  expect(filmAddress('https://film.example/watch#part-2', 61)).toBe('https://film.example/watch#part-2');
  for (const address of ['javascript:alert(1)', 'file:///etc/passwd', 'not an address', '']) {
    expect(filmAddress(address, 5)).toBeNull();
  }
});
