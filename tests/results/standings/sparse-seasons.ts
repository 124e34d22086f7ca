import type { MadeReport } from '../made-season.ts';

// Seasons that hold too little, or too much of the same, for some part of grading. Each names words that the
// standings page has to say about it.

const seen = (official: string, opportunities: number, notMet: number, notCounted = 0) => ({
  official,
  opportunities,
  notMet,
  notCounted,
});

const game = (name: string, week: number, observer: string, ...lines: MadeReport['lines']): MadeReport => ({
  game: name,
  week,
  observer,
  lines,
});

export const sparseSeasons: Record<string, { reports: MadeReport[]; says: RegExp }> = {
  'no data': { reports: [], says: /No released report has graded anybody/ },
  'one official': {
    reports: [
      game('one', 1, 'Ash', seen('Reed', 40, 3)),
      game('two', 2, 'Birch', seen('Reed', 45, 1)),
      game('three', 3, 'Ash', seen('Reed', 41, 6)),
    ],
    says: /Official Reed/,
  },
  'one report of one official': {
    reports: [game('one', 1, 'Ash', seen('Reed', 40, 3))],
    says: /no adjusted grades: one game grade in one position cannot tell skill from chance/,
  },
  'one observer': {
    reports: [
      game('one', 1, 'Ash', seen('Reed', 40, 3)),
      game('two', 1, 'Ash', seen('Sedge', 45, 9)),
      game('three', 2, 'Ash', seen('Reed', 40, 5)),
      game('four', 2, 'Ash', seen('Sedge', 44, 4)),
    ],
    says: /Official Sedge/,
  },
  'all grades equal': {
    reports: [
      game('one', 1, 'Ash', seen('Reed', 40, 4)),
      game('two', 1, 'Birch', seen('Sedge', 40, 4)),
      game('three', 2, 'Birch', seen('Reed', 40, 4)),
      game('four', 2, 'Ash', seen('Sedge', 40, 4)),
    ],
    says: /=1/,
  },
  'nothing ever missed': {
    reports: [
      game('one', 1, 'Ash', seen('Reed', 40, 0)),
      game('two', 1, 'Birch', seen('Sedge', 44, 0)),
      game('three', 2, 'Birch', seen('Reed', 42, 0)),
      game('four', 2, 'Ash', seen('Sedge', 41, 0)),
    ],
    says: /=1/,
  },
  'an observer with one game': {
    reports: [
      game('one', 1, 'Ash', seen('Reed', 40, 3)),
      game('two', 1, 'Ash', seen('Sedge', 44, 7)),
      game('three', 2, 'Birch', seen('Reed', 42, 2)),
      game('four', 2, 'Birch', seen('Sedge', 41, 6)),
      game('five', 3, 'Cedar', seen('Reed', 41, 9)),
    ],
    says: /Official Reed/,
  },
  'nothing that could be seen': {
    reports: [
      game('one', 1, 'Ash', seen('Reed', 40, 0, 40)),
      game('two', 1, 'Ash', seen('Sedge', 44, 0, 44)),
    ],
    says: /no counted opportunity/,
  },
  'groups that no report links': {
    reports: [
      game('one', 1, 'Ash', seen('Reed', 80, 3)),
      game('two', 1, 'Ash', seen('Sedge', 84, 9)),
      game('three', 2, 'Ash', seen('Reed', 82, 2)),
      game('four', 2, 'Ash', seen('Sedge', 81, 6)),
      game('five', 1, 'Birch', seen('Teasel', 80, 13)),
      game('six', 1, 'Birch', seen('Yarrow', 84, 4)),
      game('seven', 2, 'Birch', seen('Teasel', 82, 15)),
      game('eight', 2, 'Birch', seen('Yarrow', 81, 2)),
      game('nine', 3, 'Cedar', seen('Vetch', 80, 7)),
      game('ten', 3, 'Ash', seen('Reed', 80, 1)),
      game('eleven', 3, 'Ash', seen('Sedge', 80, 4)),
    ],
    says: /No report links these groups/,
  },
};
