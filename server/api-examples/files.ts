import type { ExamplesByOperation } from './example.ts';

const csv = (...lines: string[]) => `${lines.join('\r\n')}\r\n`;

/** Files of a season that fit each other, in the order in which they are read; the clinic of the last was made before. */
const seasonFiles = {
  venues: csv('name,place,latitude,longitude,time zone', 'Dusk Field,Northquill,46.35,-94.2,America/Chicago'),
  teams: csv('name,home venue', 'Northquill Nightjars,Dusk Field', 'Harrowfall Hayforks,Dusk Field'),
  staff: csv(
    'email,given name,family name,roles',
    'tobin.marrowell@conference.example,Tobin,Marrowell,observer',
    'maren.quillfeather@conference.example,Maren,Quillfeather,official',
    'idris.copperthorn@conference.example,Idris,Copperthorn,official',
  ),
  crews: csv(
    'season,crew,position,email',
    '2026,Fir,referee,maren.quillfeather@conference.example',
    '2026,Fir,umpire,idris.copperthorn@conference.example',
  ),
  schedule: csv(
    'season,week,game,kickoff,home,visitor,venue,crew',
    '2026,1,W01-HAR-NOR,2026-09-05 12:00,Northquill Nightjars,Harrowfall Hayforks,Dusk Field,Fir',
  ),
  'working-crews': csv(
    'game,position,email',
    'W01-HAR-NOR,referee,maren.quillfeather@conference.example',
    'W01-HAR-NOR,umpire,idris.copperthorn@conference.example',
  ),
  plays: csv(
    'game,play,kind,spot,quarter,clock,down,distance,offense,end spot',
    'W01-HAR-NOR,1,free kick,35,1,15:00,,,home,100',
    'W01-HAR-NOR,2,pass,25,1,15:00,1,10,visitor,39',
  ),
  'observer-assignments': csv(
    'game,email,how,answer',
    'W01-HAR-NOR,tobin.marrowell@conference.example,in person,accepted',
  ),
  'official-facts': csv(
    'season,email,years of service,rules test,fitness passed,fitness until,good standing,available,days away,tied to',
    '2026,maren.quillfeather@conference.example,12,91.5,yes,2027-06-30,yes,yes,2026-12-12,Northquill Nightjars',
  ),
  'clinic-attendance': csv(
    'season,clinic,day,email,attendance,note',
    '2026,Summer clinic,2026-07-18,maren.quillfeather@conference.example,attended,',
    '2026,Summer clinic,2026-07-18,idris.copperthorn@conference.example,made up,Watched the recording.',
  ),
};

const mapping = {
  name: 'What our film tool writes',
  columns: ['No', 'Qtr', 'Time left', 'Dn', 'Dist', 'Yard line', 'Type', 'Gain'],
  mapping: {
    rows: [{ column: 'Type', rule: 'leave out', texts: ['end of quarter'] }],
    facts: {
      kind: [{ from: 'column', column: 'Type', values: { rush: 'run', pass: 'pass' } }],
      quarter: [{ from: 'column', column: 'Qtr' }],
      clockSeconds: [{ from: 'clock', column: 'Time left', as: 'left in the quarter' }],
      down: [{ from: 'column', column: 'Dn' }],
      distance: [{ from: 'column', column: 'Dist' }],
      spot: [{ from: 'spot', column: 'Yard line', as: 'signed, minus own' }],
      endSpot: [{ from: 'gained', column: 'Gain' }],
    },
  },
};

/** Files of a season, and play logs from elsewhere. */
export const files: ExamplesByOperation = {
  postImportsByKind: {
    sent: Object.fromEntries(Object.entries(seasonFiles).map(([kind, text]) => [`kind ${kind}`, text])),
  },
  postGamesPlayLog: {
    sent: {
      'As that mapping reads it': csv(
        'No,Qtr,Time left,Dn,Dist,Yard line,Type,Gain',
        '2,1,14:42,1,10,-25,rush,6',
        '3,1,14:11,2,4,-31,pass,12',
      ),
      'As plays.csv': csv('kind,spot,quarter,clock,down,distance,offense', 'pass,25,1,15:00,1,10,visitor'),
    },
  },
  postLogMappings: { sent: { 'From columns of one’s own': mapping } },
  putLogMappingsByMappingId: { sent: { Renamed: { ...mapping, name: 'The film tool of last year' } } },
};
