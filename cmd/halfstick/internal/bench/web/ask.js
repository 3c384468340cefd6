// Requests to the bench. Changes carry the page's token.
const token = document.querySelector('meta[name="token"]').content;

async function answer(response) {
  const body = await response.text();
  const isJSON = (response.headers.get("Content-Type") || "").startsWith("application/json");
  if (response.ok) return isJSON ? JSON.parse(body) : body;
  throw new Error(isJSON ? JSON.parse(body).error : body.trim());
}

export async function get(path) {
  return answer(await fetch(path));
}

export async function post(path, wish) {
  return answer(await fetch(path, {
    method: "POST",
    headers: { "Content-Type": "application/json", "X-Halfstick-Token": token },
    body: JSON.stringify(wish),
  }));
}

export function axisPath(label, rest) {
  return `/axis/${encodeURIComponent(label)}/${rest}`;
}

// latest sends one wish at a time. Of those that come meanwhile join makes as
// few as say the same: a drag must not queue up behind itself.
export function latest(send, done, join) {
  let busy = false;
  const waiting = [];
  return async function wish(w) {
    if (busy) {
      const joined = waiting.length ? join(waiting[waiting.length - 1], w) : null;
      if (joined) waiting.pop();
      waiting.push(joined || w);
      return;
    }
    busy = true;
    const [got, error] = await send(w).then((answer) => [answer, null], (e) => [null, e]);
    busy = false;
    if (waiting.length) wish(waiting.shift()); // is under way while the answer is drawn
    done(got, error);
  };
}
