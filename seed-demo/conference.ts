import { type Position, positions } from '../server/football/positions.ts';
import type { Draws } from './draws.ts';
import { familyNames, givenNames } from './names.ts';

interface DemoVenue {
  name: string;
  place: string;
  latitude: number;
  longitude: number;
  timeZone: string;
}

export interface DemoTeam {
  name: string;
  place: string;
  venue: string;
  /** Relative strength, about -1 to 1; moves drives, not officials. */
  strength: number;
}

interface DemoPerson {
  email: string;
  givenName: string;
  familyName: string;
  roles: ('coordinator' | 'observer' | 'official')[];
  homePlace: string;
  homeLatitude: number;
  homeLongitude: number;
}

interface DemoCrew {
  name: string;
  /** E-mail by position. */
  members: Record<Position, string>;
}

export interface DemoConference {
  season: string;
  venues: DemoVenue[];
  teams: DemoTeam[];
  coordinator: DemoPerson;
  observers: DemoPerson[];
  officials: DemoPerson[];
  crews: DemoCrew[];
  /** Officials without a crew, with the positions they can fill. */
  substitutes: { email: string; positions: readonly Position[] }[];
}

/** Invented places at plausible coordinates: open country between the Rockies and the Ohio. */
const places: readonly (Omit<DemoVenue, 'name'> & { team: string; venue: string })[] = [
  ['Larkmoor', 'Lamplighters', 'Lantern Field', 41.62, -93.98, 'America/Chicago'],
  ['Brindlebay', 'Bellringers', 'Tidewall Stadium', 44.78, -87.53, 'America/Chicago'],
  ['Coppermesa', 'Cartographers', 'Compass Bowl', 38.91, -104.22, 'America/Denver'],
  ['Harrowfall', 'Hayforks', 'Threshing Grounds', 40.37, -98.61, 'America/Chicago'],
  ['Juniperflat', 'Jackdaws', 'Rookery Park', 37.24, -99.85, 'America/Chicago'],
  ['Mossgate', 'Millwrights', 'Waterwheel Stadium', 39.44, -85.61, 'America/Indiana/Indianapolis'],
  ['Northquill', 'Nightjars', 'Dusk Field', 46.18, -94.41, 'America/Chicago'],
  ['Palewater', 'Pathfinders', 'Causeway Arena Field', 42.86, -89.92, 'America/Chicago'],
  ['Quarrystone', 'Quoits', 'Granite Bowl', 38.07, -91.77, 'America/Chicago'],
  ['Tanglewick', 'Thatchers', 'Hedgerow Stadium', 40.72, -83.74, 'America/New_York'],
].map(([place, mascot, venue, latitude, longitude, timeZone]) => ({
  place: place as string,
  team: `${place} ${mascot}`,
  venue: venue as string,
  latitude: latitude as number,
  longitude: longitude as number,
  timeZone: timeZone as string,
}));

const crewNames = ['Alder', 'Birch', 'Cedar', 'Dogwood', 'Elm', 'Fir', 'Gum', 'Hazel'] as const;

const observerCount = 14;
const substituteCount = 10;

/** Letters that Unicode does not take apart into a base letter and a mark. */
const plainLetters: Record<string, string> = { ł: 'l', ø: 'o', ı: 'i', đ: 'd', æ: 'ae', ß: 'ss' };

/** `given.family@demo.example`, in ASCII. The domain can never receive mail (RFC 2606, section 2). */
function demoEmail(givenName: string, familyName: string): string {
  const fold = (name: string) =>
    name
      .toLowerCase()
      .normalize('NFD')
      .replace(/[łøıđæß]/g, (letter) => plainLetters[letter] ?? letter)
      .replace(/[^a-z-]/g, '');
  return `${fold(givenName)}.${fold(familyName)}@demo.example`;
}

/** The invented conference: ten teams, eight crews of eight, substitutes, observers and one coordinator. */
export function makeConference(draws: Draws): DemoConference {
  const naming = draws.branch('names');
  const given = naming.shuffled(givenNames);
  const family = naming.shuffled(familyNames);
  const homes = draws.branch('homes');
  let next = 0;
  const person = (roles: DemoPerson['roles']): DemoPerson => {
    const givenName = given[next % given.length] as string;
    const familyName = family[next % family.length] as string;
    next += 1;
    const near = homes.pick(places);
    // Within about an hour's drive of a team's place.
    const homeLatitude = Math.round((near.latitude + homes.normal(0, 0.35)) * 1e4) / 1e4;
    const homeLongitude = Math.round((near.longitude + homes.normal(0, 0.45)) * 1e4) / 1e4;
    return {
      email: demoEmail(givenName, familyName),
      givenName,
      familyName,
      roles,
      homePlace: `near ${near.place}`,
      homeLatitude,
      homeLongitude,
    };
  };

  const coordinator = person(['coordinator']);
  const observers = Array.from({ length: observerCount }, () => person(['observer']));
  const officials: DemoPerson[] = [];
  const official = () => {
    const made = person(['official']);
    officials.push(made);
    return made.email;
  };
  const crews = crewNames.map((name): DemoCrew => {
    const members = Object.fromEntries(positions.map((position) => [position, official()]));
    return { name, members: members as Record<Position, string> };
  });
  // A substitute works one kind of job: the box, the wings, or the deep positions.
  const jobs: readonly (readonly Position[])[] = [
    ['referee', 'center judge'],
    ['umpire', 'center judge'],
    ['head linesman', 'line judge'],
    ['side judge', 'field judge'],
    ['back judge', 'field judge', 'side judge'],
  ];
  const substitutes = Array.from({ length: substituteCount }, (_, at) => ({
    email: official(),
    positions: jobs[at % jobs.length] as readonly Position[],
  }));

  const strengths = draws.branch('strengths');
  return {
    season: '2026',
    venues: places.map(({ place, venue, latitude, longitude, timeZone }) => ({
      name: venue,
      place,
      latitude,
      longitude,
      timeZone,
    })),
    teams: places.map(({ place, team, venue }) => ({
      name: team,
      place,
      venue,
      strength: Math.max(-1, Math.min(1, strengths.normal(0, 0.5))),
    })),
    coordinator,
    observers,
    officials,
    crews,
    substitutes,
  };
}
