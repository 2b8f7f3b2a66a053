// The season station: oil on, baked in, stripped off again where it failed.
import { declare } from './event-type.ts'
import {
  celsius,
  choice,
  lines,
  minutes,
  moment,
  optional,
  reading,
  text,
  usual,
  whole,
} from './field.ts'
import { loadFacts, loadFields, loadStep } from './load.ts'
import { measured } from './measure.ts'

const TRADE = 'trade practice, no source'

const loadOiled = declare({
  ...loadStep('oil', 'Oiled'),
  type: 'season.load-oiled.v1',
  means: 'Castings were oiled.',
  fields: {
    ...loadFields,
    kV: optional(
      reading({ unit: 'KVT', least: 0, most: 200 }, 'Voltage of the spray.', usual(30, 110, TRADE)),
    ),
    filmMg: optional(
      reading(
        { unit: 'MGM', least: 0, most: 1_000_000 },
        'Oil on one casting.',
        usual(50, 5000, TRADE),
      ),
    ),
    coat: optional(whole('Which coat, from 1.')),
  },
  facts(data, context) {
    const taken = { of: 'load:' + data.load, at: data.endedAt }
    return [
      ...loadFacts('oil', data, context),
      ...measured(taken, 'spray voltage', 'KVT', data.kV),
      ...measured(taken, 'film', 'MGM', data.filmMg),
    ]
  },
})

const loadBaked = declare({
  ...loadStep('bake', 'Baked'),
  type: 'season.load-baked.v1',
  means: 'Oiled castings were baked.',
  fields: {
    ...loadFields,
    zones: lines(
      {
        celsius: celsius(
          'How hot.',
          usual(
            100,
            290,
            'trade practice: 200 to 260 °C where the film cures, with heating and cooling zones',
          ),
        ),
        minutes: minutes('How long.', usual(2, 180, TRADE)),
        of: optional(choice(['air', 'metal'], 'What it is the temperature of.')),
        how: optional(choice(['set', 'read'], 'As set, or as read.')),
      },
      'The zones of the oven in the order of travel.',
    ),
    stops: optional(
      lines(
        { startedAt: moment('It stopped.'), endedAt: moment('It went on.') },
        'The oven stood still.',
      ),
    ),
  },
  facts(data, context) {
    const taken = { of: 'load:' + data.load, at: data.endedAt }
    return [
      ...loadFacts('bake', data, context),
      ...data.zones.flatMap(({ celsius, minutes, of, how }, i) => {
        const zone = `zone ${i + 1}`
        const kind = [of, how === 'set' ? 'set' : '', 'temperature'].filter(Boolean).join(' ')
        return [
          ...measured(taken, `${zone} ${kind}`, 'CEL', celsius),
          ...measured(taken, `${zone} time`, 'MIN', minutes),
        ]
      }),
    ]
  },
})

const loadStripped = declare({
  ...loadStep('strip', 'Stripped'),
  type: 'season.load-stripped.v1',
  means: 'A seasoning that failed was taken off.',
  fields: { ...loadFields, method: optional(text('How.', 64)) },
})

export const SEASON = [loadOiled, loadBaked, loadStripped]
