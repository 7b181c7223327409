// What the page was handed: its numbers and its texts.
const numbers = JSON.parse(document.getElementById("numbers").textContent);
const texts = JSON.parse(document.getElementById("texts").textContent);
const byId = (id) => document.getElementById(id);

function say(key, values) {
  return texts[key].replace(/\{(\w+)\}/g, (_, name) => values[name]);
}
