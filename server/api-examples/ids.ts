const id = (number: number) => `019a5f00-0000-7000-8000-${String(number).padStart(12, '0')}`;

/** Of what the examples speak of; nothing has them. */
export const ids = {
  season: id(1),
  game: id(2),
  report: id(3),
  play: id(4),
  nextPlay: id(5),
  mark: id(6),
  umpire: id(7),
  referee: id(8),
  observer: id(9),
  coordinator: id(10),
  conference: id(11),
  home: id(12),
  visitor: id(13),
  venue: id(14),
  crew: id(15),
  letter: id(16),
  message: id(17),
  crewChange: id(18),
  markChange: id(19),
  playChange: id(20),
  watchedChange: id(21),
  token: id(22),
  webhook: id(23),
  delivery: id(24),
} as const;
