// What the foundry buys, and the recipe it melts after. Compositions and yields are of the usual
// order, from memory.
import type { Role } from '../events/fact.ts'
import type { Chemistry } from './iron.ts'

export interface Material {
  prefix: string
  role: Role
  suppliers: readonly string[]
  /** As one truck brings it. */
  lotKg: number
  /** Lots that come together. */
  lots: number
  /** Ordered again when less is in the yard. */
  leastKg: number
  /** Part of the weighed kg that becomes metal; said on the receipt where `told`. */
  metalPercent: number
  told?: boolean
  chemistry?: Chemistry
  bin?: string
}

export const MATERIALS = {
  'pig iron': {
    prefix: 'PI',
    role: 'metallic',
    suppliers: ['Vellmark Smelting'],
    lotKg: 5200,
    lots: 2,
    leastKg: 6000,
    metalPercent: 99.5,
    chemistry: { C: 4.15, Si: 1.6, Mn: 0.35, P: 0.06, S: 0.02 },
  },
  'steel bundles': {
    prefix: 'SB',
    role: 'metallic',
    suppliers: ['Sprackland Metals', 'Harrow & Tine Scrap'],
    lotKg: 2900,
    lots: 3,
    leastKg: 6000,
    metalPercent: 98,
    told: true,
    chemistry: {
      C: 0.08,
      Si: 0.05,
      Mn: 0.5,
      P: 0.015,
      S: 0.02,
      Cr: 0.05,
      Cu: 0.1,
      Ni: 0.05,
      Al: 0.03,
    },
  },
  'shredded steel': {
    prefix: 'SH',
    role: 'metallic',
    suppliers: ['Harrow & Tine Scrap'],
    lotKg: 4800,
    lots: 1,
    leastKg: 3500,
    metalPercent: 99,
    chemistry: {
      C: 0.12,
      Si: 0.1,
      Mn: 0.4,
      P: 0.02,
      S: 0.03,
      Cr: 0.1,
      Cu: 0.22,
      Ni: 0.08,
      Sn: 0.015,
    },
    bin: 'bay-3',
  },
  'cast scrap': {
    prefix: 'CS',
    role: 'metallic',
    suppliers: ['Ambleton Reclaim', 'Harrow & Tine Scrap'],
    lotKg: 5600,
    lots: 2,
    leastKg: 7000,
    metalPercent: 98,
    told: true,
    chemistry: {
      C: 3.3,
      Si: 2.0,
      Mn: 0.65,
      P: 0.08,
      S: 0.09,
      Cr: 0.12,
      Cu: 0.2,
      Sn: 0.02,
      Ti: 0.02,
    },
  },
  ferrosilicon: {
    prefix: 'FS',
    role: 'alloy',
    suppliers: ['Corvane Alloys'],
    lotKg: 600,
    lots: 1,
    leastKg: 500,
    metalPercent: 95,
    chemistry: { Si: 75, Al: 0.8, C: 0.1 },
  },
  ferromanganese: {
    prefix: 'FM',
    role: 'alloy',
    suppliers: ['Corvane Alloys'],
    lotKg: 300,
    lots: 1,
    leastKg: 100,
    metalPercent: 95,
    chemistry: { Mn: 78, C: 6.5, Si: 0.8 },
  },
  carburizer: {
    prefix: 'CR',
    role: 'carburizer',
    suppliers: ['Blackmere Carbon'],
    lotKg: 500,
    lots: 2,
    leastKg: 500,
    metalPercent: 90,
    told: true,
    chemistry: { C: 98.5, S: 0.05 },
  },
  inoculant: {
    prefix: 'IN',
    role: 'inoculant',
    suppliers: ['Corvane Alloys'],
    lotKg: 120,
    lots: 2,
    leastKg: 100,
    metalPercent: 95,
    chemistry: { Si: 72, Al: 1.0 },
  },
  'slag coagulant': {
    prefix: 'SC',
    role: 'coagulant',
    suppliers: ['Tolverne Minerals'],
    lotKg: 120,
    lots: 1,
    leastKg: 60,
    metalPercent: 0,
  },
  bentonite: {
    prefix: 'BO',
    role: 'binder',
    suppliers: ['Tolverne Clays'],
    lotKg: 6000,
    lots: 1,
    leastKg: 3000,
    metalPercent: 0,
    bin: 'silo-bond',
  },
  'silica sand': {
    prefix: 'SD',
    role: 'other',
    suppliers: ['Tolverne Clays'],
    lotKg: 14000,
    lots: 1,
    leastKg: 7000,
    metalPercent: 0,
    bin: 'silo-sand',
  },
  'flaxseed oil': {
    prefix: 'OL',
    role: 'oil',
    suppliers: ['Penhale Press'],
    lotKg: 45,
    lots: 2,
    leastKg: 45,
    metalPercent: 0,
  },
  'S230 shot': {
    prefix: 'SS',
    role: 'shot',
    suppliers: ['Kerrow Abrasives'],
    lotKg: 500,
    lots: 1,
    leastKg: 300,
    metalPercent: 0,
  },
  cartons: {
    prefix: 'CT',
    role: 'other',
    suppliers: ['Wrackton Board'],
    lotKg: 400,
    lots: 1,
    leastKg: 200,
    metalPercent: 0,
  },
} as const satisfies Record<string, Material>
export type MaterialId = keyof typeof MATERIALS

/** Two revisions of the one recipe, by percent of the charge. */
export const RECIPE = {
  id: 'cookware-iron',
  revisions: ['3', '4'],
  lines: [
    {
      'pig iron': 14,
      'steel bundles': 16,
      'shredded steel': 12,
      returns: 46,
      'cast scrap': 10.1,
      ferrosilicon: 0.8,
      carburizer: 1.1,
    },
    {
      'pig iron': 10,
      'steel bundles': 18,
      'shredded steel': 14,
      returns: 46,
      'cast scrap': 9.8,
      ferrosilicon: 0.9,
      carburizer: 1.3,
    },
  ],
  aim: { C: 3.5, Si: 2.05, Mn: 0.55 },
} as const
