// The query page in the browser. It talks to this house only, and writes what it is told as text.
import { namesFrom, QUESTIONS, STARTING_NAMES } from '/ask/page-questions.js'

const at = (id) => document.getElementById(id)
const query = at('query')
const names = at('names')

/** The part behind # is a token: it becomes a cookie, and leaves the address. */
async function signIn() {
  const token = location.hash.slice(1)
  if (token === '') return
  history.replaceState(null, '', location.pathname)
  await fetch('/session', { method: 'POST', headers: { authorization: `Bearer ${token}` } })
}

async function showWho() {
  const response = await fetch('/session')
  const said = await response.json()
  at('who').textContent = response.ok
    ? `Signed in as ${said.roles.join(', ')}.`
    : 'Not signed in: open one of the links that the house printed when it started.'
  return response.ok
}

async function post(question, variables) {
  const response = await fetch('/graphql', {
    method: 'POST',
    headers: { 'content-type': 'application/json', accept: 'application/json' },
    body: JSON.stringify({ query: question, variables }),
  })
  return response.json()
}

async function ask() {
  at('ask').disabled = true
  tell('Asking …')
  const began = performance.now()
  try {
    const answer = await post(query.value, JSON.parse(names.value || '{}'))
    const took = Math.round(performance.now() - began)
    at('answer').textContent = JSON.stringify(answer.data ?? null, null, 2)
    const problems = (answer.errors ?? []).map(({ message }) => message)
    if (problems.length > 0) return tell(problems.join(' '), true)
    const sentence = Object.values(answer.data)[0]?.sentence ?? 'Answered'
    tell(`${sentence} (${took} ms)`)
  } catch (error) {
    const own = error instanceof SyntaxError ? 'The names are no JSON: ' : 'It could not be asked: '
    tell(own + error.message, true)
  } finally {
    at('ask').disabled = false
  }
}

function tell(sentence, trouble = false) {
  at('told').textContent = sentence
  at('told').classList.toggle('trouble', trouble)
}

function pick({ question, variables }, known) {
  query.value = question.trim()
  names.value = JSON.stringify(variables(known), null, 2)
  return ask()
}

function make(tag, text, more = {}) {
  return Object.assign(document.createElement(tag), { textContent: text, ...more })
}

function listQuestions(known) {
  for (const one of QUESTIONS) {
    const button = make('button', one.title, { type: 'button' })
    button.addEventListener('click', () => pick(one, known))
    const item = document.createElement('li')
    item.append(button)
    at('questions').append(item)
  }
}

function showReference(types) {
  const search = at('search')
  const shown = () => {
    const word = search.value.trim().toLowerCase()
    const found = word === '' ? types.slice(0, 1) : types.filter((type) => speaksOf(type, word))
    at('reference').replaceChildren(...found.slice(0, 30).flatMap((type) => typeParts(type, look)))
  }
  const look = (name) => {
    search.value = name
    at('reference').replaceChildren(
      ...types.filter((type) => type.name === name).flatMap((type) => typeParts(type, look)),
    )
  }
  search.addEventListener('input', shown)
  shown()
}

function speaksOf({ name, means, parts }, word) {
  const texts = [name, means, ...parts.flatMap((part) => [part.name, part.means])]
  return texts.some((text) => text.toLowerCase().includes(word))
}

function typeParts({ name, means, parts }, look) {
  return [make('h3', name), make('p', means), ...parts.map((part) => partOf(part, look))]
}

function partOf({ name, means, type, of, takes }, look) {
  const paragraph = document.createElement('p')
  paragraph.append(make('code', name))
  if (type) {
    const link = make('button', type, { type: 'button', className: 'of' })
    link.addEventListener('click', () => look(of))
    paragraph.append(': ', link)
  }
  paragraph.append(make('br', ''), means)
  for (const taken of takes ?? []) {
    paragraph.append(
      make('br', ''),
      make('code', `${taken.name}: ${taken.type}`),
      ` ${taken.means}`,
    )
  }
  return paragraph
}

at('ask').addEventListener('click', ask)
document.addEventListener('keydown', (event) => {
  if (event.key === 'Enter' && (event.ctrlKey || event.metaKey)) void ask()
})

await signIn()
const isIn = await showWho()
const known = namesFrom((isIn && (await post(STARTING_NAMES, {})).data) || {})
listQuestions(known)
if (isIn) await pick(QUESTIONS[0], known)
showReference(await (await fetch('/ask/reference.json')).json())
