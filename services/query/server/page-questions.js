// Questions to start from. Their names are taken from the record that is asked, newest first.

export const STARTING_NAMES = `{
  packs(first: 50) { edges { node { id marks } } }
  lots(first: 100) { edges { node { id role } } }
  heats(first: 1) { edges { node { at furnace { number } } } }
  inspections(first: 1) { edges { node { at stage } } }
}`

/** What the record holds, for the questions to name; empty texts where it holds nothing yet. */
export function namesFrom({ packs, lots, heats, inspections }) {
  const nodes = (list) => (list?.edges ?? []).map(({ node }) => node)
  const marks = nodes(packs).flatMap((pack) => pack.marks)
  const mark = marks.find((one) => marks.indexOf(one) === marks.lastIndexOf(one))
  const ofRole = (role) => nodes(lots).filter((lot) => lot.role === role)
  const heat = nodes(heats)[0]
  const look = nodes(inspections)[0]
  const to = heat ? new Date(Date.parse(heat.at) + 3_600_000) : new Date()
  return {
    pack: mark === undefined ? { id: nodes(packs)[0]?.id ?? '' } : { mark },
    metal: ofRole('METALLIC').at(-1)?.id ?? '',
    oil: (ofRole('OIL')[0] ?? ofRole('SHOT')[0])?.id ?? '',
    furnace: heat?.furnace?.number ?? '',
    window: lastHours(to, 8),
    look: {
      stage: look?.stage ?? '',
      window: lastHours(look ? new Date(Date.parse(look.at) + 60_000) : to, 72),
    },
  }
}

function lastHours(to, hours) {
  return { from: new Date(to.getTime() - hours * 3_600_000).toISOString(), to: to.toISOString() }
}

const WITH_RANGE = 'value interval { low high }'
const RESTS_ON = 'completeness { verdict sentence gaps { sort about station sentence } }'
const OTHERWISE = `
    ... on TrailBroken { sentence gaps { sort about station sentence } }
    ... on Unclear { written candidates { thing { id } because fit } }
    ... on NotKnown { written sentence near }`

export const QUESTIONS = [
  {
    title: 'Where did this pack come from?',
    variables: ({ pack }) => ({ of: pack }),
    question: `
query ($of: ThingBy!) {
  origins(of: $of) {
    __typename
    ... on Origins {
      question sentence asOf id
      lots(first: 10) { edges { share { ${WITH_RANGE} } grams { value } node { ... on Lot { id material } } } }
      unrecorded { ${WITH_RANGE} }
      pours(first: 5) { edges { chance { value } node { id at } } }
      heats(first: 5) { edges { chance { value } node { id at furnace { number } } } }
      touches { station thing { id } machine { name } standing chance { value } }
      ${RESTS_ON}
      cautions { sentence }
    }${OTHERWISE}
  }
}`,
  },
  {
    title: 'Which castings carry this lot, and where are they?',
    variables: ({ metal }) => ({ lots: [metal], share: 0.01 }),
    question: `
query ($lots: [ID!], $share: Float) {
  reach(from: { things: $lots }, affected: { share: $share }) {
    __typename
    ... on Reach {
      question sentence asOf id
      castings { certain possible clear unknown toHold expected { ${WITH_RANGE} } }
      leftOut { ${WITH_RANGE} } mostLeftOutGrams
      places { place packs castings { certain possible unknown toHold } }
      packs(first: 10) { edges { standing chance { value } place spot node { id marks } } pageInfo { hasNextPage endCursor } totalCount }
      customers { edges { packs castings { toHold } node { name } } }
      ${RESTS_ON}
      cautions { sentence }
    }${OTHERWISE}
  }
}`,
  },
  {
    title: 'What did this lot of oil touch?',
    variables: ({ oil }) => ({ lots: [oil] }),
    question: `
query ($lots: [ID!]) {
  reach(from: { things: $lots }, affected: { touched: true }) {
    __typename
    ... on Reach {
      question sentence
      castings { certain possible clear unknown toHold }
      loads(first: 10) { edges { standing chance { value } node { id at } } totalCount }
      packs(first: 10) { edges { standing place spot node { id marks } } totalCount }
      ${RESTS_ON}
    }${OTHERWISE}
  }
}`,
  },
  {
    title: 'What was in the furnace, hour by hour?',
    variables: ({ furnace, window, metal }) => ({ furnace, window, of: metal ? [metal] : [] }),
    question: `
query ($furnace: String!, $window: Window!, $of: [ID!]) {
  bath(furnace: $furnace, window: $window, of: $of) {
    __typename
    ... on Bath { at change thing heat kg share shareLow shareHigh ${RESTS_ON} }
    ... on NotKnown { sentence near }
  }
}`,
  },
  {
    title: 'What do the newest heats look like?',
    variables: () => ({}),
    question: `
{
  heats(first: 5) {
    edges { node {
      id at furnace { number } heelKg { value } before { id }
      charges { id recipe { name revision } lines { of { id } kg { value } targetKg } }
      samples { number chemistry { carbonEquivalentPercent { value } elements { symbol percent { value } lessThan } } }
      ladles { id kg { value } pours { id castings { value } } }
    } }
    pageInfo { hasNextPage endCursor }
  }
}`,
  },
  {
    title: 'Where can this lot have brought copper to 0.2 %?',
    variables: ({ metal }) => ({
      of: { lots: [metal], symbol: 'Cu', assayPercent: 1, limitPercent: 0.2, besidesPercent: 0.1 },
    }),
    question: `
query ($of: ConcentrationOf!) {
  concentration(of: $of) {
    __typename
    ... on Concentration {
      sentence asOf id behaviour kept { ${WITH_RANGE} }
      castings { certain possible unknown clear toHold }
      pours(first: 10) { edges { standing percent { ${WITH_RANGE} } node { id at } } }
      packs(first: 10) { edges { standing chance { ${WITH_RANGE} } place node { id marks } } }
      ${RESTS_ON}
      cautions { sentence }
    }
    ... on NotAnalyzed { sentence lots { id } }
    ... on Unclear { written candidates { thing { id } because fit } }
    ... on NotKnown { written sentence near }
  }
}`,
  },
  {
    title: 'Which heats have samples that do not fit what was charged?',
    variables: () => ({}),
    question: `
{
  misfits(first: 10) {
    edges { node { id at } misfit { sentence symbol differencePercent { ${WITH_RANGE} }
      causes { sort chance of { id } other { id } times } } }
  }
}`,
  },
  {
    title: 'Is everything of the last hours accounted for?',
    variables: ({ window }) => ({ of: { window } }),
    question: `
query ($of: BalanceOf!) {
  reconcile(of: $of) {
    __typename
    ... on Balance {
      sentence asOf id
      steps { stage step unit things in out left unaccounted tolerance within open beyond }
      rows(first: 20, beyond: true) { edges { node { id } stage in out left unaccounted tolerance } }
      ${RESTS_ON}
      cautions { sentence }
    }
    ... on Unclear { written candidates { thing { id } because fit } }
    ... on NotKnown { written sentence near }
  }
}`,
  },
  {
    title: 'What was found at inspection?',
    variables: () => ({}),
    question: `
{
  inspections(first: 20) {
    edges { node { id at stage of { id } castings defective defects { defect castings fate } } }
  }
}`,
  },
  {
    title: 'What explains the newest defects?',
    variables: ({ look }) => ({ about: look }),
    question: `
query ($about: DefectQuestion!) {
  causes(about: $about) {
    __typename
    ... on Causes {
      sentence verdict nothing falseAlarms weighed counted { castings defective rate { ${WITH_RANGE} } }
      groups(first: 5) {
        belief inSet factors { sort name belief thing { id } }
        with { castings defective } without { castings defective } times { ${WITH_RANGE} }
        dose { dose castings rate low high } tellApart
      }
      ${RESTS_ON}
      cautions { sentence }
    }
    ... on NothingToExplain { sentence castings defective }
  }
}`,
  },
  {
    title: 'Do defect rates follow what was charged?',
    variables: ({ look }) => ({ about: look, by: ['RECIPE'] }),
    question: `
query ($about: DefectQuestion!, $by: [RateBy!]!) {
  defectRates(about: $about, by: $by) {
    __typename
    ... on Rates {
      sentence asOf id tooMixed misfitHeats overall { castings defective rate { ${WITH_RANGE} } }
      rows(first: 20) { edges { node {
        group stretch { from to } counted { castings defective rate { ${WITH_RANGE} } }
        adjusted { value } times { ${WITH_RANGE} } toldApart charged { material written weighed }
      } } }
      changeover { days groups share castings defective }
      ${RESTS_ON}
      cautions { sentence }
    }
    ... on NothingToExplain { sentence castings defective }
  }
}`,
  },
  {
    title: 'Does the defect rate keep still, heat by heat?',
    variables: ({ look }) => ({ about: look }),
    question: `
query ($about: DefectQuestion!) {
  rateChart(about: $about, per: HEAT) {
    __typename
    ... on RateChart {
      sentence asOf id at name lookedAt found value centre lowerLimit upperLimit
      signals { point sentence source }
      ${RESTS_ON}
      cautions { sentence }
    }
    ... on NothingToExplain { sentence castings defective }
  }
}`,
  },
  {
    title: 'Of which product do customers complain most?',
    variables: ({ look }) => ({ of: { window: look.window }, by: ['PRODUCT'] }),
    question: `
query ($of: ComplaintsOf!, $by: [RateBy!]!) {
  complaintRates(of: $of, by: $by) {
    __typename
    ... on Rates {
      sentence asOf id heard { complained counted elsewhere notPlaced notConfirmed halfWithinDays tooYoung }
      rows(first: 20) { edges { node {
        group counted { castings defective rate { ${WITH_RANGE} } } times { ${WITH_RANGE} } toldApart
      } } }
      ${RESTS_ON}
      cautions { sentence }
    }
    ... on NothingToExplain { sentence castings defective }
  }
}`,
  },
  {
    title: 'Are the reports in?',
    variables: () => ({}),
    question: `
{
  reportsIn {
    verdict sentence asOf setAside namedOnly inferred conflicts
    stations { station heardUpTo waiting lateMinutes }
    gaps(first: 10) { sort about station sentence castings }
  }
}`,
  },
  {
    title: 'What could not be read, and why?',
    variables: () => ({}),
    question: `
{
  setAside(first: 10) {
    edges { node { id station type recordedAt setAsideAs setAsideFor entered { field value unit } } }
    totalCount
  }
}`,
  },
]
