// Shows the questions that apply, and takes the reader to the errors.
const form = document.querySelector("form");

function applies(condition) {
  const [, key, mark, answers] = /^(\w+)([=!])(.*)$/.exec(condition);
  const controls = [...form.querySelectorAll(`[name="${key}"]`)];
  const given = controls.filter((each) => each.type !== "checkbox" || each.checked);
  const isOne = given.some((each) => answers.split("|").includes(each.value.trim().toLowerCase()));
  return !controls[0].closest(".field").hidden && isOne === (mark === "=");
}

function fit() {
  for (const field of form.querySelectorAll(".field")) {
    const conditions = field.dataset.when.split(" ").filter(Boolean);
    field.hidden = !conditions.every(applies);
  }
}

if (form) {
  // Lengths are of another unit once the unit is another: what was only offered is offered anew.
  const offered = { inch: { width: "10", reed_width: "36", loom_waste: "30", around: "24", section_width: "2" }, metric: { width: "25", reed_width: "90", loom_waste: "75", around: "60", section_width: "5" } };
  form.elements.units.addEventListener("change", () => {
    const [now, before] = form.elements.units.value === "metric" ? ["metric", "inch"] : ["inch", "metric"];
    for (const [key, value] of Object.entries(offered[now])) {
      if (form.elements[key].value === offered[before][key]) form.elements[key].value = value;
    }
  });
  form.addEventListener("input", fit);
  form.addEventListener("change", fit);
  fit();
  const errors = document.getElementById("errors");
  if (errors) errors.focus();
}
