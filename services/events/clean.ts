// The clean station: castings out of their molds, and what was done to them before seasoning.
import { declare } from './event-type.ts'
import { choice } from './field.ts'
import { loadFields, loadStep } from './load.ts'

const castingsShakenOut = declare({
  ...loadStep('shake-out', 'Shook out'),
  type: 'clean.castings-shaken-out.v1',
  means: 'Castings were shaken out of their molds.',
  fields: loadFields,
})

const loadTumbled = declare({
  ...loadStep('tumble', 'Tumbled'),
  type: 'clean.load-tumbled.v1',
  means: 'Castings were tumbled in a drum.',
  fields: loadFields,
})

const loadBlasted = declare({
  ...loadStep('blast', 'Blasted'),
  type: 'clean.load-blasted.v1',
  means: 'Castings were blasted with shot.',
  fields: loadFields,
})

const loadGround = declare({
  ...loadStep('grind', 'Ground'),
  type: 'clean.load-ground.v1',
  means: 'Castings were ground.',
  fields: loadFields,
})

const loadWashed = declare({
  ...loadStep('wash', 'Washed'),
  type: 'clean.load-washed.v1',
  means: 'Castings were washed.',
  fields: loadFields,
})

const loadDried = declare({
  ...loadStep('dry', 'Dried'),
  type: 'clean.load-dried.v1',
  means: 'Castings were dried.',
  fields: loadFields,
})

const loadSorted = declare({
  ...loadStep('sort', 'Sorted'),
  type: 'clean.load-sorted.v1',
  means: 'Castings were put together anew.',
  fields: {
    ...loadFields,
    reason: choice(['product', 'rework', 'top-up', 'merge', 'split'], 'Why.'),
  },
})

export const CLEAN = [
  castingsShakenOut,
  loadTumbled,
  loadBlasted,
  loadGround,
  loadWashed,
  loadDried,
  loadSorted,
]
