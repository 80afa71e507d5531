// Forms carry this screen's mark, by which the server knows that a page of its own sent them. Pages bring it along;
// panels that came by the stream, and what waited for the link, get it here.
const mark = () => document.body.dataset.formToken;

export function marked(data) {
  if (mark()) data.set("form_token", mark());
  return data;
}

export function start() {
  document.addEventListener(
    "submit",
    (event) => {
      const form = event.target;
      if (!mark() || form.method !== "post" || form.querySelector("input[name=form_token]")) return;
      form.append(Object.assign(document.createElement("input"), { type: "hidden", name: "form_token", value: mark() }));
    },
    true,
  );
}
