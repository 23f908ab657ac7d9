// Draws the charts of a page. Each is a div with data-chart, the id of the
// script element (application/json) that holds its options. The options are
// data only; colours are names of custom properties, and a formatter is a name
// followed by its argument.
"use strict";
(function () {
  const dark = matchMedia("(prefers-color-scheme: dark)");
  const drawn = new Map();

  function figures(before) {
    const plain = new Intl.NumberFormat(document.documentElement.lang, { maximumFractionDigits: 1 });
    return (value) => (value < 0 ? "−" : "") + before + plain.format(Math.abs(value));
  }

  // resolve copies the options with colours looked up and formatters bound.
  function resolve(value, style) {
    if (Array.isArray(value)) return value.map((v) => resolve(v, style));
    if (value && typeof value === "object") {
      return Object.fromEntries(Object.entries(value).map(([k, v]) => [k, resolve(v, style)]));
    }
    if (typeof value !== "string") return value;
    if (value.startsWith("--")) return style.getPropertyValue(value).trim();
    if (value.startsWith("figure:")) return figures(value.slice("figure:".length));
    return value;
  }

  function draw(place) {
    const source = document.getElementById(place.dataset.chart);
    if (!source) return;
    const style = getComputedStyle(document.documentElement);
    const colour = (name) => style.getPropertyValue(name).trim();
    const options = JSON.parse(source.textContent);
    const said = options.said || [];
    delete options.said;
    const resolved = resolve(options, style);

    resolved.textStyle = { fontFamily: getComputedStyle(place).fontFamily, fontSize: 13, color: colour("--ink") };
    const named = [].concat(resolved.yAxis).some((axis) => axis.name);
    const edges = { left: 4, right: 12, top: named ? 32 : 12, bottom: 4 };
    resolved.grid = Object.assign({ outerBoundsMode: "same", outerBounds: edges }, edges);
    resolved.tooltip = {
      trigger: "axis",
      renderMode: "richText", // the other mode sets style attributes, which the policy refuses
      confine: true,
      backgroundColor: colour("--paper"),
      borderColor: colour("--rule-strong"),
      textStyle: { color: colour("--ink"), fontSize: 13, width: Math.max(160, place.clientWidth - 60), overflow: "break" },
      axisPointer: { type: "line", lineStyle: { color: colour("--rule-strong") } },
      formatter: (points) => said[points[0].dataIndex] || "",
    };
    for (const axis of [].concat(resolved.xAxis, resolved.yAxis)) {
      axis.axisLabel = Object.assign({ color: colour("--ink-soft"), fontSize: 13, hideOverlap: true }, axis.axisLabel);
      // The last mark under a line would run out of the drawing.
      if (axis.type === "category" && resolved.series.every((series) => series.type === "line")) axis.axisLabel.alignMaxLabel = "right";
      axis.axisLine = { show: axis.type === "category", lineStyle: { color: colour("--rule-strong") } };
      axis.axisTick = { show: false };
      axis.splitLine = { show: axis.type === "value", lineStyle: { color: colour("--rule") } };
      axis.nameTextStyle = { color: colour("--ink-soft"), fontSize: 13, align: axis.nameLocation ? "center" : "left" };
    }
    for (const series of resolved.series) {
      series.silent = true;
      series.emphasis = { disabled: true };
    }
    let chart = drawn.get(place);
    if (!chart) {
      chart = echarts.init(place, null, { renderer: "canvas" });
      drawn.set(place, chart);
      new ResizeObserver(() => chart.resize()).observe(place);
    }
    chart.setOption(resolved, true);
    place.dataset.drawn = "true";
  }

  function drawAll() {
    for (const [place, chart] of drawn) {
      if (!place.isConnected) {
        chart.dispose();
        drawn.delete(place);
      }
    }
    document.querySelectorAll("[data-chart]").forEach(draw);
  }

  drawAll();
  dark.addEventListener("change", drawAll);
  document.addEventListener("htmx:after:swap", drawAll);
})();
