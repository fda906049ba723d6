using HilRunner.Reporting.Axis;
using HilRunner.Reporting.Page;

namespace HilRunner.Reporting.RunPage;

/// <summary>The time axis: a still picture for print and without scripts, and what the script needs to draw it live.</summary>
internal static class AxisSection
{
    public static void Write(HtmlPage page, AxisModel model)
    {
        page.Add($"<section class=\"wide\" aria-labelledby=\"axis-title\"><h2 id=\"axis-title\">Time axis</h2>\n<div>\n<p class=\"key\">");
        foreach (string name in model.Colours.Names) { page.Add($"{model.Colours.Label(name)} "); }
        page.Add($"""
            {model.Colours.Label(ClassColours.None)} <span><i class="swatch hatched"></i>differs from the reference</span>{Grace(model)}</p>
            <div id="axis" hidden>
            <div class="controls" role="group" aria-label="Zoom and move">
            <button type="button" data-do="in">Zoom in</button><button type="button" data-do="out">Zoom out</button><button type="button" data-do="earlier">Earlier</button><button type="button" data-do="later">Later</button><button type="button" data-do="all">Whole run</button><span id="window"></span>
            </div>
            <div id="plot" tabindex="0" role="group" aria-label="Time axis: motion, reference and observed classes" aria-describedby="axis-help"><canvas id="lanes" aria-hidden="true"></canvas><canvas id="cursor" aria-hidden="true"></canvas></div>
            <canvas id="overview" aria-hidden="true"></canvas>
            <p id="readout" aria-live="polite">Point at the axis to read it.</p>
            <p id="axis-help" class="quiet">Drag over a stretch to zoom into it, double-click for the whole run, click a trial to find it in the table. With the keyboard: arrows move the reading line, + and − zoom, n and p go to the next and previous trial, Home and End to the ends, 0 shows the whole run. The wheel zooms once the axis has been clicked, or with Ctrl.</p>
            </div>
            <div class="still-frame" tabindex="0" role="region" aria-label="Time axis, still picture">
            """);
        page.Add(AxisSvg.Of(model));
        page.Add($"</div>\n<noscript><p class=\"quiet\">Scripts are off: this is a still picture of the whole run.</p></noscript>\n");
        if (model.Run.Motion.Count == 0) { page.Add($"<p class=\"quiet\">No motion is stored with this run.</p>\n"); }
        page.Add($"<script type=\"application/json\" id=\"axis-data\">{AxisJson.Of(model)}</script>\n</div></section>\n");
    }

    private static Markup Grace(AxisModel model) => model.Run.Rules.GraceNs > 0
        ? Markup.Of($" <span><i class=\"swatch hatched grace\"></i>differs within the grace of {Figure.Nanoseconds(model.Run.Rules.GraceNs)}</span>")
        : Markup.Empty;
}
