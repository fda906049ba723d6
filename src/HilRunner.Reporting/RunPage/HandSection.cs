using HilRunner.Core.Runs;
using HilRunner.Core.Time;
using HilRunner.Reporting.Axis;
using HilRunner.Reporting.Page;

namespace HilRunner.Reporting.RunPage;

/// <summary>Moved by hand: when each motion was told, marked and found in what the device measured, and what the reference takes.</summary>
internal static class HandSection
{
    private const int Most = 500;
    private static readonly string[] Heads = ["Prompt", "Class", "Told, s", "Marked, s", "In the motion, s", "Onset taken, s", "± of it", "Why"];

    public static void Write(HtmlPage page, StoredRun run, ClassColours colours)
    {
        if (run.Onsets.Count == 0) { return; }
        page.Add($"""
            <section aria-labelledby="hand"><h2 id="hand">Moved by hand</h2>
            <div><p>A person moved the device; nothing was injected. The uncertainty of each onset is part of every latency.</p>

            """);
        page.Table("Onsets", Heads, run.Onsets.Take(Most).Select(o => Row(o, run, colours)));
        if (run.Onsets.Count > Most) { page.Add($"<p class=\"quiet\">{run.Onsets.Count - Most} more are in {RunFiles.Marks}.</p>\n"); }
        page.Add($"""
            <p class="quiet">In the motion: where the short-time deviation of |a| changed, by the centred cumulative sum of squares (Inclán and Tiao 1994), within 5 s after it was told; given where it doubled or halved. It is shown beside the mark and not used.</p>
            </div></section>

            """);
    }

    private static Markup Row(HandOnset o, StoredRun run, ClassColours colours) => Markup.Of($"""
        <tr><th scope="row">{o.Say}</th><td>{colours.Label(o.Class)}</td><td class="n">{Time(o.Told, "the run ended before")}</td><td class="n">{Time(o.Marked, "no key was pressed")}</td><td class="n">{Time(o.Motion, run.Motion.Count == 0 ? "the device does not say what it measures" : "no plain change was found")}</td><td class="n">{Figure.Matching(o.Onset.Ns / 1e9, o.UncertaintyNs / 1e9)}</td><td class="n">{Figure.Uncertainty(o.UncertaintyNs / 1e9)}</td><td>{o.Why}</td></tr>
        """);

    private static Markup Time(StimulusTime? at, string why) => at is { } time ? Markup.Of($"{Figure.Decimals(time.Ns / 1e9, 2)}") : HtmlPage.Absent(why);
}
