export const kindTitles = {
  'mid-season': 'Mid-season evaluation',
  'end-of-season': 'End-of-season evaluation',
  'game-report': 'Game report',
  'season-book': 'Season book',
} as const;
