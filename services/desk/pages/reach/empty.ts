// Nothing is followed yet: a thing is named in the sentence, and what is no thing here.
import { html, type TemplateResult } from 'lit-html'
import { type Group, groupIn } from './group.ts'

/** `follow` is told what was named. */
export function emptyView(follow: (group: Group) => void): TemplateResult {
  const take = (event: SubmitEvent) => {
    event.preventDefault()
    const said = new FormData(event.currentTarget as HTMLFormElement)
    const group = groupIn(
      new URLSearchParams([...said].map(([name, text]) => [name, String(text)])),
    )
    if (group) follow(group)
  }
  const window = html`from <input name="begin" type="datetime-local" aria-label="from" required />
    to <input name="end" type="datetime-local" aria-label="to" required />`
  return html`<p>Name a lot, heat, sand, oil, load or pack above; or follow what is no thing.</p>
    <form class="sentence follow" @submit=${take} aria-label="What went through a machine">
      What went through <input name="machine" aria-label="machine" placeholder="oven 2" size="8" required autocomplete="off" />
      ${window} <button>Follow it</button>
    </form>
    <form class="sentence follow" @submit=${take} aria-label="What was measured outside its limits">
      What had its <input name="quantity" aria-label="quantity" placeholder="pouring temperature" size="16" required autocomplete="off" />
      below <input name="lowest" type="number" step="any" aria-label="lowest allowed" placeholder="as set" />
      or above <input name="highest" type="number" step="any" aria-label="highest allowed" placeholder="as set" />,
      ${window} <button>Follow it</button>
    </form>`
}
