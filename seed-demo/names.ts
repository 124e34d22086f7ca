/**
 * Names for the invented conference. Family names are made up; given names are common ones from many places.
 * Letters beyond ASCII are there on purpose: a letter or a file that can't carry them is a defect.
 */
export const givenNames = [
  'Abigail', 'Adriána', 'Aiko', 'Alistair', 'Amara', 'Ambrose', 'Anneliese', 'Antônio', 'Aoife', 'Arjun',
  'Beatrix', 'Björn', 'Caleb', 'Camille', 'Chidi', 'Chloë', 'Clement', 'Dagný', 'Dalia', 'Darnell',
  'Delphine', 'Dmitri', 'Eilidh', 'Elías', 'Emeka', 'Esther', 'Étienne', 'Fatima', 'Felix', 'Fiona',
  'Gaëlle', 'Gideon', 'Greta', 'Hana', 'Hector', 'Hollis', 'Ibrahim', 'Imogen', 'Inés', 'Isamu',
  'Jamal', 'Jarmila', 'Joaquín', 'Josephine', 'Kaito', 'Keisha', 'Kjersti', 'Kofi', 'Lachlan', 'Leilani',
  'Linus', 'Lourdes', 'Łukasz', 'Magnus', 'Maren', 'Mateo', 'Mehmet', 'Minh Châu', 'Mónica', 'Nadia',
  'Ngọc', 'Niamh', 'Noor', 'Obadiah', 'Odette', 'Oisín', 'Olu', 'Orla', 'Pádraig', 'Percival',
  'Petra', 'Priya', 'Quentin', 'Rafael', 'Renée', 'Rhiannon', 'Rosalind', 'Samira', 'Siobhán', 'Søren',
  'Tamsin', 'Tariq', 'Tevita', 'Thérèse', 'Uli', 'Vesna', 'Viggo', 'Wanjiru', 'Winifred', 'Xiomara',
  'Yaw', 'Yusuf', 'Zdeněk', 'Zoë', 'Zubair', 'Ålva',
] as const; // biome-ignore format: a list reads better in rows

export const familyNames = [
  'Abernook', 'Ågrenholt', 'Applewhaite-Moor', 'Ashgrovely', 'Bancroftly', 'Barrowmede', 'Bexwarren', 'Birkenshale',
  'Blåveisen', 'Brackenfell', 'Bramblecote', 'Çınarbey', 'Calloway-Finch', 'Castelwyn', 'Coldharrow', 'Corvanely',
  'Crickmarsh', 'Dąbrowicki', 'Dellacorvo', 'Dunmorrow', 'Eastonfield', 'Ebbinghay', 'Elderwick', 'Falconridge',
  'Fennimarsh', 'Fjällgren', 'Foxgloam', 'Galdamezuri', 'Garrowby', 'Glanvimere', 'Grüntaler', 'Hallowmere',
  'Håkonsby', 'Hartwhistle', 'Havelstone', 'Hollinquist', 'Ibarrondez', 'Inglemoor', 'Ivorydale', 'Jasperholm',
  'Jökulsárdal', 'Kaleokamoku', 'Kestrelwood', 'Kirkhollow', 'Kovačanić', 'Larkspurly', 'Lindenquay', 'Loxmarrow',
  'Łąkownik', 'Maplethwaite', 'Marrowdale', 'Mbekelani', 'Merriwhim', 'Millingarth', 'Mwangarai', 'Nettlecombe',
  'Nightingarde', 'Ñandúvez', 'Northwhistle', 'O’Dellarty', 'Oakenquist', 'Ödmarsson', 'Okonwurie', 'Orchardine',
  'Palewright', 'Peñalverde', 'Pellingrath', 'Pemberwick', 'Quarrendale', 'Quillanova', 'Ravensmoor', 'Redfernley',
  'Rookhampton', 'Rosendahlen', 'Saint-Orme', 'Saltmarshe', 'Šelmarić', 'Shirokawara', 'Silverthwait', 'Sorrelgate',
  'Stonecrofte', 'Tamarisko', 'Tanglewythe', 'Thistlebrook', 'Trảngvy', 'Tupouvaha', 'Underhillard', 'Valdecorvo',
  'van der Quill', 'Varnamåla', 'Venkatapuri', 'Wexcombe', 'Whimbreley', 'Willowmarch', 'Wrenfield', 'Yarrowgate',
  'Yılmazer-Holt', 'Zambranello', 'Żurawiec',
] as const; // biome-ignore format: a list reads better in rows
