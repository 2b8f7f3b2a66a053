// The tables analysts read: names, columns, and what each says. Names of things are as in answers; shares
// are parts by mass, 0 to 1.

export interface AnalyticsColumn {
  type: 'text' | 'integer' | 'double precision' | 'boolean' | 'timestamptz' | 'timestamp'
  means: string
}

export interface AnalyticsTable {
  means: string
  key: readonly string[]
  columns: Readonly<Record<string, AnalyticsColumn>>
}

/** Raised when a table or column goes, or comes to mean something else: then all are made anew. */
export const ANALYTICS_EDITION = 2

const text = (means: string): AnalyticsColumn => ({ type: 'text', means })
const whole = (means: string): AnalyticsColumn => ({ type: 'integer', means })
const number = (means: string): AnalyticsColumn => ({ type: 'double precision', means })
const flag = (means: string): AnalyticsColumn => ({ type: 'boolean', means })
const moment = (means: string): AnalyticsColumn => ({ type: 'timestamptz', means })

const plant = text('The plant.')
const place = whole('Number of the look, in the order of time within its stage.')
const sent = whole('Number of what left, in the order of time.')
const pour = text('The pour, as pour:number.')

/** By name. */
export const ANALYTICS = {
  written: {
    means: 'How these tables came about: one row a plant and table.',
    key: ['plant', 'table_name'],
    columns: {
      plant,
      table_name: text('The table.'),
      table_rows: whole('Rows it has of the plant.'),
      as_of: moment('Everything recorded up to here is in.'),
      record_version: text('Version of the record it was worked out from.'),
      edition: whole('Edition of the tables themselves.'),
    },
  },
  lot: {
    means: 'Lots received.',
    key: ['plant', 'lot'],
    columns: {
      plant,
      lot: text('The lot, as lot:number.'),
      material: text('What it is.'),
      role: text('What it is used for.'),
      supplier: text('Who sent it.'),
      received_at: moment('When.'),
      kg: number('Weighed in. Unit: kg.'),
    },
  },
  charge_line: {
    means: 'What was weighed for charges.',
    key: ['plant', 'charge', 'line'],
    columns: {
      plant,
      charge: text('The charge, as charge:number.'),
      line: whole('Its line, from 0.'),
      weighed_at: moment('When.'),
      taken_from: text('The lot or bay.'),
      material: text(
        'Of a lot what it is; returns for what came back from the plant. Null of a bay.',
      ),
      kg: number('Weighed. Unit: kg.'),
      target_kg: number('Asked for by the recipe. Unit: kg.'),
      recipe: text('The recipe it follows; null when none was named.'),
      revision: text('Its revision.'),
    },
  },
  heat: {
    means: 'Heats melted.',
    key: ['plant', 'heat'],
    columns: {
      plant,
      heat: text('The heat, as heat:number.'),
      furnace: text('The furnace, by its name on the floor.'),
      begun_at: moment('When.'),
      does_not_fit: flag(
        'Its sample does not fit what was charged; null where there is nothing to tell by.',
      ),
    },
  },
  heat_element: {
    means: 'Samples of the newest 3,000 heats beside what was to be expected of what was charged.',
    key: ['plant', 'heat', 'element'],
    columns: {
      plant,
      heat: text('The heat, as heat:number.'),
      element: text('Chemical symbol.'),
      percent: number('As read. Unit: percent by mass.'),
      expected_percent: number('As was to be expected. Unit: percent by mass.'),
      spread_percent: number('Standard deviation of their difference. Unit: percent by mass.'),
    },
  },
  pour: {
    means: 'Runs of molds poured.',
    key: ['plant', 'pour'],
    columns: {
      plant,
      pour,
      poured_at: moment('When it was begun.'),
      poured_local: { type: 'timestamp', means: "The same by the plant's clock." },
      line: text('Molding line.'),
      pattern: text('Pattern of its molds; null where nobody knows.'),
      heat: text('Heat it was tapped from, as heat:number.'),
      furnace: text('Furnace it was tapped from.'),
      kg: number('Metal poured. Unit: kg; 0 where nobody can say.'),
    },
  },
  pour_lot: {
    means: 'How much of which lot is in the metal of each pour.',
    key: ['plant', 'pour', 'lot'],
    columns: {
      plant,
      pour,
      lot: text('The lot, as lot:number.'),
      share: number('Best value. Unit: share 0 to 1.'),
    },
  },
  pour_recipe: {
    means: 'How much of the metal of each pour was charged by which revision of a recipe.',
    key: ['plant', 'pour', 'recipe', 'revision'],
    columns: {
      plant,
      pour,
      recipe: text('The recipe.'),
      revision: text('Its revision.'),
      share: number('Best value. Unit: share 0 to 1.'),
    },
  },
  unit: {
    means: 'Castings of one pour, product and cavity.',
    key: ['plant', 'unit'],
    columns: {
      plant,
      unit: whole('Its number, in these tables only.'),
      pour,
      product: text('The product; empty where nobody can say.'),
      cavity: text('Place on the pattern; empty where nobody can say.'),
    },
  },
  look: {
    means: 'Castings looked at: one row an inspection.',
    key: ['plant', 'stage', 'place'],
    columns: {
      plant,
      stage: text('After which step, as the plant names it.'),
      place,
      inspection: text('Number of the inspection.'),
      looked_at: moment('When.'),
      product: text('The product; null where the report names none.'),
      castings: number('Looked at. Unit: castings.'),
      defective: number('Bad. Unit: castings.'),
    },
  },
  look_defect: {
    means: 'Defects found in a look.',
    key: ['plant', 'stage', 'place', 'defect'],
    columns: {
      plant,
      stage: text('As in look.'),
      place,
      defect: text('As the plant codes it.'),
      castings: number('With this defect. Unit: castings.'),
    },
  },
  look_unit: {
    means: 'Which castings were looked at.',
    key: ['plant', 'stage', 'place', 'n'],
    columns: {
      plant,
      stage: text('As in look.'),
      place,
      n: whole('Order in which parts are added.'),
      unit: whole('As in unit.'),
      part: number('Chance that a casting of the look is of it. Unit: share 0 to 1.'),
    },
  },
  look_handling: {
    means: 'Which loads the castings of a look went through.',
    key: ['plant', 'stage', 'place', 'step', 'n'],
    columns: {
      plant,
      stage: text('As in look.'),
      place,
      step: text('The step of the work.'),
      n: whole('Order in which parts are added.'),
      load: text('The load, as load:number.'),
      machine: text('The machine; null where nobody recorded it.'),
      part: number('Chance that a casting of the look went through it. Unit: share 0 to 1.'),
    },
  },
  pack_pour: {
    means: 'Of which pours the metal of each pack is; what is of no known pour is not there.',
    key: ['plant', 'pack', 'pour'],
    columns: {
      plant,
      pack: text('The pack, as pack:number.'),
      pour,
      share: number('Part of its metal, expected. Unit: share 0 to 1.'),
    },
  },
  shipped: {
    means:
      'What left the plant: one row for each product of a pack and each time it left; to whom, is not here.',
    key: ['plant', 'place'],
    columns: {
      plant,
      place: sent,
      pack: text('The pack, as pack:number.'),
      product: text('The product; empty where nobody can say.'),
      shipped_at: moment('When.'),
      castings: number('Of the pack, whatever the product. Unit: castings.'),
      part: number('Part of the pack that is of the product. Unit: share 0 to 1.'),
    },
  },
  shipped_unit: {
    means: 'Which castings left.',
    key: ['plant', 'place', 'n'],
    columns: {
      plant,
      place: sent,
      n: whole('Order in which parts are added.'),
      unit: whole('As in unit.'),
      part: number('Chance that a casting of what left is of it. Unit: share 0 to 1.'),
    },
  },
  shipped_handling: {
    means: 'Which loads the castings that left went through.',
    key: ['plant', 'place', 'step', 'n'],
    columns: {
      plant,
      place: sent,
      step: text('The step of the work.'),
      n: whole('Order in which parts are added.'),
      load: text('The load, as load:number.'),
      machine: text('The machine; null where nobody recorded it.'),
      part: number('Chance that a casting of what left went through it. Unit: share 0 to 1.'),
    },
  },
  complaint: {
    means: 'What customers complained of; who, is not here.',
    key: ['plant', 'complaint'],
    columns: {
      plant,
      complaint: text('The complaint, as complaint:number.'),
      place: whole('Order in which complaints are added.'),
      received_at: moment('When it was heard.'),
      product: text('The product, as told; null when not.'),
      defect: text('As examined, or else as told.'),
      castings: number('How many. Unit: castings; 1 when not told.'),
      confirmed: flag('The defect was there; null while nobody has examined it.'),
    },
  },
  complaint_pack: {
    means:
      'Packs that a complaint may be of, by the marks told and by how much of each was shipped.',
    key: ['plant', 'complaint', 'n'],
    columns: {
      plant,
      complaint: text('The complaint, as complaint:number.'),
      n: whole('Counts what it may be of.'),
      pack: text('The pack, as pack:number.'),
      product: text('The product; empty where nobody can say.'),
      shipped_at: moment('When it left.'),
      chance: number('That it is of this one. Unit: chance 0 to 1.'),
    },
  },
} as const satisfies Record<string, AnalyticsTable>

export type AnalyticsName = keyof typeof ANALYTICS

/** Views over them: what anybody would have to write first. */
export const ANALYTICS_VIEWS: Readonly<Record<string, { means: string; query: string }>> = {
  pack_lot: {
    means: 'How much of which lot is in the metal of each pack, expected. Unit: share 0 to 1.',
    query: `select p.plant, p.pack, l.lot, sum(p.share * l.share order by p.pour) as share
      from analytics.pack_pour p join analytics.pour_lot l using (plant, pour)
      group by p.plant, p.pack, l.lot`,
  },
  rates_by_recipe: {
    means:
      'Castings looked at and bad ones by revision of the recipe that nine tenths or more of their metal were charged by; expected counts, by stage.',
    query: `with of_recipe as (
        select k.plant, k.stage, k.place, r.recipe, r.revision, sum(k.part order by k.n) as part
        from analytics.look_unit k
        join analytics.unit u using (plant, unit)
        join analytics.pour_recipe r using (plant, pour)
        where r.share >= 0.9
        group by k.plant, k.stage, k.place, r.recipe, r.revision)
      select l.plant, l.stage, o.recipe, o.revision,
        sum(l.castings * o.part order by l.place) as castings,
        sum(l.defective * o.part order by l.place) as defective,
        sum(l.defective * o.part order by l.place) / nullif(sum(l.castings * o.part order by l.place), 0) as rate
      from analytics.look l join of_recipe o using (plant, stage, place)
      where o.part >= 0.000001
      group by l.plant, l.stage, o.recipe, o.revision`,
  },
}
