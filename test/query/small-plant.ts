// A few hours of an invented plant, small enough to know by heart: two heats on one heel, one
// commingled load, three packs of which two bear one mark, a correction, a void, a bad report.
import type { Saying } from './record.ts'

const at = (hour: string) => `2026-03-02T${hour}:00-06:00`

export const RECEIVED: Saying[] = [
  {
    type: 'receive.lot-received.v1',
    time: at('06:00'),
    data: {
      lot: 'PI-77',
      material: 'pig iron',
      role: 'metallic',
      kg: { value: 44092.45, unit: 'LBR', how: 'weighed' },
      supplier: 'Ridge Iron',
      supplierLots: ['R-1', 'R-2'],
      certificate: { C: 4.1, Si: 1.2, P: 0.05, Pb: { below: 0.001 } },
    },
  },
  {
    type: 'receive.lot-received.v1',
    time: at('06:05'),
    data: { lot: 'IN-9', material: 'inoculant', role: 'inoculant', kg: 500, supplier: 'Vale' },
  },
  {
    type: 'receive.lot-received.v1',
    time: at('06:06'),
    data: { lot: 'OIL-3', material: 'flaxseed oil', role: 'oil', kg: 180, supplier: 'Mill' },
  },
  {
    type: 'receive.returns-collected.v1',
    time: at('06:10'),
    data: { lot: 'RET-1', what: 'gates', kg: 800, sources: [{ of: 'pour:P-0', kg: 800 }] },
  },
  {
    type: 'receive.bin-filled.v1',
    time: at('06:12'),
    data: { bin: 'bay-4', use: 'bay', lines: [{ of: 'lot:PI-77', kg: 5000 }] },
  },
]

export const MELTED: Saying[] = [
  {
    type: 'melt.recipe-issued.v1',
    time: at('06:15'),
    data: {
      recipe: { id: 'R10', revision: '14' },
      lines: [
        { material: 'pig iron', percent: 40, low: 35, high: 45 },
        { material: 'returns', percent: 60 },
      ],
    },
  },
  {
    type: 'melt.charge-weighed.v1',
    time: at('06:20'),
    data: {
      charge: 'C-1',
      recipe: { id: 'R10', revision: '14' },
      lines: [
        { of: 'lot:PI-77', kg: { value: 400, spread: 2 }, targetKg: 410 },
        { of: 'bin:bay-4', kg: 200 },
      ],
    },
  },
  {
    type: 'melt.charge-weighed.v1',
    time: at('06:50'),
    data: { charge: 'C-2', lines: [{ of: 'lot:RET-1', kg: 500 }] },
  },
  {
    type: 'melt.charge-preheated.v1',
    time: at('06:25'),
    data: { charge: 'C-1', celsius: { value: 752, unit: 'FAH' } },
  },
  {
    type: 'melt.heat-melted.v1',
    time: at('07:00'),
    machine: 'F1',
    data: {
      heat: 'H-1',
      furnace: 'F1',
      charges: [{ charge: 'C-1' }],
      fromEmpty: true,
      celsius: 1480,
      startedAt: at('06:30'),
      endedAt: at('07:00'),
    },
  },
  {
    type: 'melt.heat-alloyed.v1',
    time: at('07:01'),
    data: {
      heat: 'H-1',
      furnace: 'F1',
      additions: [{ of: 'lot:IN-9', kg: 1, purpose: 'alloying' }],
    },
  },
  {
    type: 'melt.heat-sampled.v1',
    time: at('07:05'),
    data: {
      heat: 'H-1',
      sample: 'S-1',
      of: 'furnace:F1',
      takenAt: at('07:02'),
      chemistry: { C: 3.5, Si: 2.2, P: 0.05, S: 0.08, Mn: 0.6 },
      method: 'spark',
      liquidusCelsius: 1180,
      kept: 'drawer 3',
    },
  },
  {
    type: 'melt.heat-tapped.v1',
    time: at('07:10'),
    data: {
      heat: 'H-1',
      furnace: 'F1',
      ladle: 'L-1',
      ladleNo: '3',
      tap: 1,
      kg: 250,
      celsius: 1450,
      ladleHeelKg: 0,
    },
  },
  {
    type: 'melt.ladle-treated.v1',
    time: at('07:11'),
    data: {
      ladle: 'L-1',
      additions: [
        { of: 'lot:IN-9', kg: 0.5, purpose: 'inoculation' },
        { of: 'lot:COAG-1', kg: 0.2, purpose: 'slag-coagulation' },
      ],
    },
  },
  {
    type: 'melt.heat-melted.v1',
    time: at('07:40'),
    machine: 'F1',
    data: {
      heat: 'H-2',
      furnace: 'F1',
      charges: [{ charge: 'C-2' }],
      heelKg: 349,
      startedAt: at('07:15'),
      endedAt: at('07:40'),
    },
  },
  {
    type: 'melt.heat-tapped.v1',
    time: at('07:50'),
    data: { heat: 'H-2', furnace: 'F1', ladle: 'L-2', tap: 1, kg: 250 },
  },
]

export const MOLDED: Saying[] = [
  {
    type: 'mold.pattern-mounted.v1',
    time: at('05:30'),
    data: {
      line: '2',
      pattern: 'PT-10',
      cavities: [
        { cavity: 'A', product: 'skillet 10', castingKg: 2.2 },
        { cavity: 'B', product: 'skillet 10', castingKg: 2.2, blocked: true },
        { cavity: 'C', product: 'lid 10', castingKg: 1.1, mark: 'L' },
      ],
      pouredKg: 7,
      fromMold: 1,
    },
  },
  {
    type: 'mold.sand-mulled.v1',
    time: at('05:40'),
    data: {
      sand: 'SD-1',
      lines: [{ of: 'lot:CLAY-1', kg: 20 }],
      returnSandKg: 900,
      moisturePercent: 3.1,
      celsius: 38,
    },
  },
  {
    type: 'mold.molds-made.v1',
    time: at('06:55'),
    data: {
      molds: 'M-1',
      line: '2',
      pattern: 'PT-10',
      sand: 'SD-1',
      first: 1,
      last: 20,
      squeezeKPa: 900,
      materials: [{ of: 'lot:PART-1', kg: 0.1, purpose: 'parting' }],
      startedAt: at('06:30'),
      endedAt: at('06:55'),
    },
  },
  {
    type: 'mold.molds-made.v1',
    time: at('07:20'),
    data: {
      molds: 'M-2',
      line: '2',
      pattern: 'PT-10',
      sand: 'SD-1',
      first: 21,
      last: 40,
      startedAt: at('06:56'),
      endedAt: at('07:20'),
    },
  },
]

export const POURED: Saying[] = [
  {
    type: 'pour.molds-poured.v1',
    time: at('07:25'),
    data: {
      pour: 'P-1',
      ladle: 'L-1',
      line: '2',
      first: 11,
      last: 30,
      celsius: 1410,
      kg: 140,
      kgPerMold: 7,
      startedAt: at('07:15'),
      endedAt: at('07:25'),
    },
  },
  {
    type: 'pour.molds-poured.v1',
    time: at('07:59'),
    data: {
      pour: 'P-2',
      ladle: 'L-2',
      line: '2',
      first: 31,
      last: 40,
      startedAt: at('07:55'),
      endedAt: at('07:59'),
    },
  },
]

export const CLEANED: Saying[] = [
  {
    type: 'clean.castings-shaken-out.v1',
    time: at('09:00'),
    data: {
      load: 'LD-1',
      sources: [
        { of: 'pour:P-1', castings: 40 },
        { of: 'pour:P-2', castings: 20 },
      ],
      castings: 58,
      castingsIn: 60,
      removed: [{ castings: 2, fate: 'scrap', defect: 'misrun', into: 'lot:RET-2' }],
      startedAt: at('08:50'),
      endedAt: at('09:00'),
    },
  },
  {
    type: 'clean.load-blasted.v1',
    time: at('09:30'),
    machine: 'BL-1',
    data: {
      load: 'LD-1',
      castings: 58,
      tote: 'T-1',
      materials: [{ of: 'lot:SHOT-1', kg: 3, purpose: 'shot' }],
      startedAt: at('09:10'),
      endedAt: at('09:30'),
    },
  },
]

export const SEASONED: Saying[] = [
  {
    type: 'season.load-oiled.v1',
    time: at('10:00'),
    machine: 'OIL-BOOTH',
    data: {
      load: 'LD-1',
      castings: 58,
      materials: [{ of: 'lot:OIL-3', kg: 1.2 }],
      kV: 70,
      filmMg: 600,
      startedAt: at('09:50'),
      endedAt: at('10:00'),
    },
  },
  {
    type: 'season.load-baked.v1',
    time: at('11:30'),
    machine: 'OVEN-2',
    data: {
      load: 'LD-1',
      castings: 58,
      zones: [{ celsius: 245, minutes: 60, of: 'air' }],
      startedAt: at('10:20'),
      endedAt: at('11:30'),
    },
  },
]

export const INSPECTED: Saying[] = [
  {
    type: 'inspect.castings-inspected.v1',
    time: at('12:00'),
    data: {
      inspection: 'I-1',
      of: ['load:LD-1'],
      stage: 'after bake',
      castings: 58,
      defective: 3,
      defects: [{ defect: 'blister', castings: 3, cavity: 'A', fate: 'rework' }],
    },
  },
]

export const PACKED: Saying[] = [
  {
    type: 'ship.pans-packed.v1',
    time: at('13:00'),
    id: 'pack-1',
    data: {
      pack: 'K-1',
      marks: ['K26-0412-B7'],
      lines: [
        { product: 'skillet 10', sources: [{ of: 'load:LD-1', castings: 20 }], castings: 20 },
      ],
      serials: [{ pan: 'SN-1', of: 'load:LD-1' }, { pan: 'SN-2' }],
      spot: 'bay 7',
    },
  },
  {
    type: 'ship.pans-packed.v1',
    time: at('13:10'),
    id: 'pack-2',
    data: {
      pack: 'K-2',
      marks: ['K26-0412-B8', 'SAME'],
      lines: [
        { product: 'skillet 10', sources: [{ of: 'load:LD-1', castings: 10 }], castings: 10 },
        { product: 'lid 10', sources: [{ of: 'load:LD-1', castings: 8 }], castings: 8 },
      ],
    },
  },
  {
    type: 'ship.pans-packed.v1',
    time: at('13:20'),
    id: 'pack-3',
    data: { pack: 'K-3', marks: ['SAME'], lines: [{ product: 'lid 10', castings: 4 }] },
  },
  {
    type: 'ship.packs-shipped.v1',
    time: at('14:00'),
    data: { shipment: 'SH-1', customer: 'Harbor Goods', lines: [{ pack: 'K-1', castings: 12 }] },
  },
  {
    type: 'ship.packs-repacked.v1',
    time: at('14:30'),
    data: {
      outOf: [{ pack: 'K-2', castings: 6 }],
      into: [{ pack: 'K-4', marks: ['GIFT-1'], product: 'skillet 10', castings: 6 }],
      reason: 'relabel',
    },
  },
]

/** All of it in the order of the day. */
export const DAY: Saying[] = [
  ...RECEIVED,
  ...MELTED,
  ...MOLDED,
  ...POURED,
  ...CLEANED,
  ...SEASONED,
  ...INSPECTED,
  ...PACKED,
]
