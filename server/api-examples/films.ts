import { type ExamplesByOperation, setAndAnswered } from './example.ts';

/** Films of a game and their marks. */
export const films: ExamplesByOperation = {
  postGamesFilms: {
    sent: {
      'A film that lies elsewhere': {
        angle: 'Sideline',
        link: 'https://film.conference.example/week-1/harrowfall-northquill.mp4',
      },
      'A file of the server’s folder': { angle: 'End zone', file: 'week 1/end-zone.mp4' },
    },
  },
  patchGamesFilmsByFilmId: { sent: { 'Another name': { angle: 'Press box' } } },
  putGamesFilmsMarksByPlayId: { sent: { 'The snap is at 12:34.5': { seconds: 754.5 } } },
  putFilmSettings: setAndAnswered({
    'As it is at first': { viewers: 'observers', largest: 12_000, space: 200_000 },
  }),
};
