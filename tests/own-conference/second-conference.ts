// A small conference of our own invention, as its coordinator keeps it in a spreadsheet: four teams, two crews of
// five, two observers, four weeks, high-school code. Each file is what a spreadsheet saves in one of its ways.

export const conference = {
  name: 'Quarry Hills Conference',
  timeZone: 'America/Denver',
  season: '2026',
  crewSize: 5,
};

export const coordinator = { given: 'Maren', family: 'Okafor', email: 'maren.okafor@quarry.example' };

export const observers = [
  { given: 'Zoë', family: 'Ångström', email: 'zoe.angstrom@quarry.example' },
  { given: 'Tomás', family: 'Peña', email: 'tomas.pena@quarry.example' },
] as const;

const positions = ['referee', 'umpire', 'head linesman', 'line judge', 'back judge'] as const;

export const crews: Record<string, { given: string; family: string; email: string; position: string }[]> = {
  Limestone: crew('Limestone', ['Ada Brück', 'Ben Calloway', 'Cyr Dufresne', 'Dot Ekström', 'Eli Farrow']),
  Slate: crew('Slate', ['Fay Grünwald', 'Gus Harrow', 'Hal Ibáñez', 'Ivy Jostad', 'Jon Kessel']),
};

function crew(name: string, people: string[]) {
  return people.map((person, at) => {
    const [given, family] = person.split(' ') as [string, string];
    const email = `${given}.${name}@quarry.example`.toLowerCase();
    return { given, family, email, position: positions[at]! };
  });
}

const teams = [
  { name: 'Alder Fork', venue: 'Alder Fork Field', latitude: '39,7405', longitude: '-105,1712' },
  { name: 'Basalt Ridge', venue: 'Ridge Stadium', latitude: '39,3689', longitude: '-107,0334' },
  { name: 'Cinder Creek', venue: 'Creekside Park', latitude: '38,8339', longitude: '-104,8214' },
  { name: 'Dunmore Flats', venue: 'Flats Ground', latitude: '40,4233', longitude: '-104,7091' },
] as const;

/** Fridays, written as the coordinator's spreadsheet does: 9/4 may be September or April until somebody says. */
export const games = [
  { week: 1, key: 'W1-AF-BR', kickoff: '9/4/2026 19:00', visitor: 0, home: 1, crew: 'Limestone' },
  { week: 1, key: 'W1-CC-DF', kickoff: '9/4/2026 19:00', visitor: 2, home: 3, crew: 'Slate' },
  { week: 2, key: 'W2-AF-CC', kickoff: '9/11/2026 19:00', visitor: 0, home: 2, crew: 'Slate' },
  { week: 2, key: 'W2-DF-BR', kickoff: '9/11/2026 19:00', visitor: 3, home: 1, crew: 'Limestone' },
  { week: 3, key: 'W3-DF-AF', kickoff: '9/18/2026 7:00 PM', visitor: 3, home: 0, crew: 'Limestone' },
  { week: 3, key: 'W3-BR-CC', kickoff: '9/18/2026 7:00 PM', visitor: 1, home: 2, crew: 'Slate' },
  { week: 4, key: 'W4-BR-AF', kickoff: '9/25/2026 7:30 PM', visitor: 1, home: 0, crew: 'Slate' },
  { week: 4, key: 'W4-DF-CC', kickoff: '9/25/2026 7:30 PM', visitor: 3, home: 2, crew: 'Limestone' },
] as const;

export const titleOf = (game: (typeof games)[number]) =>
  `${teams[game.visitor].name} at ${teams[game.home].name}`;

/** Who is asked to watch what: each observer sees both crews, so that everybody can be compared. */
export const watched = [
  { observer: 0, game: 'W1-AF-BR' },
  { observer: 1, game: 'W1-CC-DF' },
  { observer: 0, game: 'W2-AF-CC' },
  { observer: 1, game: 'W2-DF-BR' },
] as const;

type Cells = readonly (readonly (string | number)[])[];

/** Text cells joined by the separator; those that hold it, a quote or a line end are quoted (RFC 4180). */
function table(rows: Cells, separator: string): string {
  const cell = (value: string | number) => {
    const text = String(value);
    return text.includes(separator) || /["\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
  };
  return `${rows.map((row) => row.map(cell).join(separator)).join('\r\n')}\r\n`;
}

/** "CSV" of a spreadsheet where the decimal sign is a comma: semicolons, Windows-1252. */
const windowsCsv = (rows: Cells) => Buffer.from(table(rows, ';'), 'latin1');
/** "Unicode text": tabs, UTF-16 with a byte order mark. */
const unicodeText = (rows: Cells) => Buffer.from(`\uFEFF${table(rows, '\t')}`, 'utf16le');
/** "CSV UTF-8": commas, with a byte order mark. */
const utf8Csv = (rows: Cells) => Buffer.from(`\uFEFF${table(rows, ',')}`, 'utf8');

export const venuesFile = () =>
  windowsCsv([
    ['Name', 'Latitude', 'Longitude', 'Time zone', 'Place', 'Seats'],
    ...teams.map((team) => [
      team.venue,
      team.latitude,
      team.longitude,
      conference.timeZone,
      team.name,
      'about 2 000',
    ]),
  ]);

export const teamsFile = () =>
  unicodeText([['Name', 'Home venue'], ...teams.map((team) => [team.name, team.venue])]);

export const staffFile = () => {
  const people = [
    ...Object.values(crews)
      .flat()
      .map((person) => ({ ...person, roles: 'official' })),
    ...observers.map((person) => ({ ...person, roles: 'observer' })),
  ];
  return windowsCsv([
    ['E-mail', 'Given name', 'Family name', 'Roles'],
    ...people.map(({ email, given, family, roles }) => [email, given, family, roles]),
  ]);
};

/** Positions as people write them. */
const spelled: Record<string, string> = { referee: 'R', umpire: 'Umpire', 'head linesman': 'Head Linesman' };

export const crewsFile = () =>
  utf8Csv([
    ['Season', 'Crew', 'Position', 'Email'],
    ...Object.entries(crews).flatMap(([name, members]) =>
      members.map((member) => [
        conference.season,
        name,
        spelled[member.position] ?? member.position,
        member.email,
      ]),
    ),
  ]);

/** Of some weeks; in those where no day is over 12, nobody but the coordinator knows which number is the month. */
export const scheduleFile = (...weeks: number[]) =>
  utf8Csv([
    ['Season', 'Week', 'Game', 'Kickoff', 'Home', 'Visitor', 'Venue', 'Crew'],
    ...games
      .filter((game) => weeks.includes(game.week))
      .map((game) => [
        conference.season,
        game.week,
        game.key,
        game.kickoff,
        teams[game.home].name,
        teams[game.visitor].name,
        teams[game.home].venue,
        game.crew,
      ]),
  ]);

/** Plays of the games that nobody types on the page: one short log, moved a little from game to game. */
export const playsFile = (keys: readonly string[]) =>
  windowsCsv([
    [
      'Season',
      'Game',
      'Play',
      'Quarter',
      'Clock',
      'Kind',
      'Down',
      'Distance',
      'Spot',
      'End spot',
      'Play side',
      'Out of bounds',
      'Pass result',
      'Kick result',
    ],
    ...keys.flatMap((key, game) => shortLog(key, game)),
  ]);

function shortLog(key: string, game: number): (string | number)[][] {
  const rows: (string | number)[][] = [];
  const play = (
    clock: string,
    kind: string,
    down: number | '',
    spot: number,
    end: number | '',
    rest: string[],
  ) =>
    rows.push([
      conference.season,
      key,
      rows.length + 1,
      1,
      clock,
      kind,
      down,
      down === '' ? '' : 10,
      spot,
      end,
      ...rest,
    ]);
  play('12:00', 'free kick', '', 40, '', ['', '', '', 'touchback']);
  for (let at = 0; at < 12; at++) {
    const spot = 20 + at * 3;
    const side = at % 2 === 0 ? 'Left' : 'Right';
    const out = (at + game) % 3 === 0 ? 'x' : 'no';
    const clock = `${11 - Math.floor(at / 2)}:${at % 2 === 0 ? '40' : '10'}`;
    if (at % 6 === 5) play(clock, 'pass', 1, spot, '', [side, 'no', 'incomplete', '']);
    else
      play(clock, 'run', 1, spot, spot + 3 + ((at + game) % 4), [side, out === 'x' ? 'yes' : 'no', '', '']);
  }
  return rows;
}
