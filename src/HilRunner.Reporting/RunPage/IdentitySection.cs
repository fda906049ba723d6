using HilRunner.Core.Runs;
using HilRunner.Reporting.Page;

namespace HilRunner.Reporting.RunPage;

/// <summary>What exactly was played, on what, by what: enough to play it again or to see that something else was.</summary>
internal static class IdentitySection
{
    public static void Write(HtmlPage page, StoredRun run)
    {
        RunManifest m = run.Manifest;
        page.Add($"<section aria-labelledby=\"identity\"><h2 id=\"identity\">Identity</h2>\n<div>\n");
        const string notGiven = "not given when the run was started";
        var rows = new List<(string, Markup)>
        {
            ("run", Markup.Of($"{m.Id}")), ("folder", Markup.Of($"{run.Folder}")),
            ("started", Markup.Of($"{Dates.Of(m.Started)}")),
            ("ended", m.Ended is { } ended ? Markup.Of($"{Dates.Of(ended)} (after {Dates.Span(ended - m.Started)})") : HtmlPage.Absent("the run did not reach its end")),
            ("build", Or(m.Build.Label, notGiven)), ("image", Or(m.Build.Image, notGiven)), ("image SHA-256", Hash(m.Build.Sha256)),
        };
        rows.AddRange(m.Identity.OrderBy(i => i.Key, StringComparer.Ordinal).Select(i => ($"device says: {i.Key}", Markup.Of($"{i.Value}"))));
        rows.AddRange(
        [
            ("scenario", Markup.Of($"{m.ScenarioName} ({m.Scenario.Path})")), ("scenario SHA-256", Hash(m.Scenario.Sha256)),
            ("rig", Markup.Of($"{m.RigName} ({m.Rig.Path})")), ("rig SHA-256", Hash(m.Rig.Sha256)),
            ("link", Markup.Of($"{m.Link}")), ("speed", Markup.Of($"{m.Speed}")), ("seed", Markup.Of($"{m.Seed}")), ("repeat", Markup.Of($"{m.Repeat}")),
            ("suite", Or(m.Suite, "played on its own")),
            ("stimulus", Markup.Of($"{m.Samples} samples at {m.Rate.ToString()}, {m.LeadSamples} of them run-in; channels {string.Join(" ", m.Channels)}")),
            ("cut off at the device's range", m.Clipped.Count == 0 ? HtmlPage.Absent("not counted") : Markup.Of($"{string.Join(", ", m.Channels.Zip(m.Clipped, (c, n) => FormattableString.Invariant($"{c} {n}")))} values")),
            ("tool", Markup.Of($"HilRunner {m.ToolVersion}")), ("host", Markup.Of($"{m.Host}")),
            ("ended by", Or(m.EndCause?.Replace('_', ' '), "the run did not reach its end")),
        ]);
        page.Table("What was played, on what, by what", ["Item", "Value"], rows.Select(r => Markup.Of($"<tr><th scope=\"row\">{r.Item1}</th><td>{r.Item2}</td></tr>")), "identity");
        Sources(page, m);
        page.Add($"</div></section>\n");
    }

    private static void Sources(HtmlPage page, RunManifest m)
    {
        if (m.Sources.Count == 0) { page.Add($"<p>No recording was played: the stimulus was made or prompted.</p>\n"); return; }
        page.Table("Recordings", ["File", "SHA-256", "Source", "Mounting", "Provenance", "Licence"], m.Sources.Select(s =>
        {
            const string absent = "the side file does not say";
            Markup invented = s.Info.Invented ? Markup.Of($"<b>Made up, not recorded.</b> ") : Markup.Empty;
            return Markup.Of($"<tr><th scope=\"row\">{s.Path}</th><td>{Hash(s.Sha256)}</td><td>{Or(s.Info.Source, absent)}</td><td>{Or(s.Info.Mounting, absent)}</td><td>{invented}{Or(s.Info.Provenance, absent)}</td><td>{Or(s.Info.Licence, absent)}</td></tr>");
        }), "identity");
    }

    private static Markup Or(string? text, string why) => string.IsNullOrEmpty(text) ? HtmlPage.Absent(why) : Markup.Of($"{text}");
    private static Markup Hash(string? hash) => string.IsNullOrEmpty(hash) ? HtmlPage.Absent("not known") : Markup.Of($"<code class=\"hash\">{hash}</code>");
}
