using System.Globalization;
using HilRunner.Reporting.Axis;
using HilRunner.Reporting.CasePage;
using HilRunner.Reporting.Page;
using HilRunner.Scoring.Isolating;

namespace HilRunner.Reporting;

/// <summary>
/// A case on one page that can be sent to the customer: what was seen, what caused it, since which build, how it is guarded. Names of rigs, builds, files and models are told only where asked for.
/// </summary>
public static class CaseReport
{
    /// <summary>Writes the whole page; <paramref name="output"/> should encode as UTF-8.</summary>
    public static void Write(Case item, bool inside, TextWriter output)
    {
        ArgumentNullException.ThrowIfNull(item);
        ArgumentNullException.ThrowIfNull(output);
        var page = new HtmlPage(output);
        string verdict = item.Culprit is { } culprit ? CaseWords.Of(culprit) : "under way";
        page.Begin($"{item.Name}: {verdict}");
        page.Add($"<a class=\"skip\" href=\"#seen\">Skip to what was seen</a>\n<header>\n<p class=\"kicker\">Complaint <span class=\"dot\">·</span> {item.Name} <span class=\"dot\">·</span> {Dates.Of(item.Begun)}</p>\n");
        page.Add($"<h1><span class=\"verdict {Css(item.Culprit)}\">{verdict}</span> <span class=\"reason\">{HtmlPage.Upper(item.Complaint)}</span></h1>\n");
        page.Add($"<p class=\"answer\">{(item.Culprit is { } c ? CaseWords.Meaning(c) : "It is not known yet what caused it.")} {(item.Played > 0 ? $"It shows in {CaseWords.Share(item)}." : "")}</p>\n");
        if (item.Ended is null) { page.Add($"<p class=\"notice\"><b>Not finished.</b> This page says how far it is.</p>\n"); }
        if (item.Invented) { page.Add($"<p class=\"notice\"><b>Made-up data.</b> The motion was invented: this shows how a complaint is followed up, not what a device does.</p>\n"); }
        page.Add($"</header>\n<main id=\"main\">\n");
        Seen(page, item);
        Caused(page, item, inside);
        if (item.Bisection is { } bisection) { Since(page, bisection, inside); }
        Guarded(page, item, inside);
        Reach(page, item, inside);
        page.Add($"</main>\n");
        page.End();
    }

    private static string Css(Culprit? culprit) => culprit switch { Culprit.Firmware or Culprit.Model or Culprit.Device => "is-fail", Culprit.Input => "is-pass", _ => "is-inconc" };

    private static void Seen(HtmlPage page, Case item)
    {
        page.BeginSection("seen", "What was seen");
        page.Add($"<p>{HtmlPage.Upper(item.Complaint)}{(item.When is { } when ? $", {when} by the log's clock" : "")}. The logged motion was played to a device on the bench.</p>\n");
        if (item.Plays.Count > 0)
        {
            page.Table("Plays", ["How", "Show it", "Played", "What the device said"], item.Plays.Select(p =>
                Markup.Of($"<tr><th scope=\"row\" class=\"words\">{p.How}</th><td class=\"n\">{p.Shown}</td><td class=\"n\">{p.Played}</td><td class=\"words\">{string.Join(", ", p.Said.OrderByDescending(s => s.Value).Select(s => string.Create(CultureInfo.InvariantCulture, $"{s.Key} ({s.Value})")))}</td></tr>")));
        }
        if (item.Spoiled > 0) { page.Add($"<p>{item.Spoiled} {(item.Spoiled == 1 ? "play was" : "plays were")} spoiled by the bench and {(item.Spoiled == 1 ? "does" : "do")} not count.</p>\n"); }
        if (item.Excerpt is { } excerpt)
        {
            page.Add(ExcerptSvg.Of(excerpt, new ClassColours([item.Expected, .. excerpt.Device.Concat(excerpt.Host ?? []).Concat(excerpt.Logged ?? []).Select(s => s.Class)])));
            page.Add($"<p class=\"quiet\">What was played, and what was said of it; what counts is what was said between the dashed lines.</p>\n");
        }
        page.EndSection();
    }

    private static void Caused(HtmlPage page, Case item, bool inside)
    {
        page.BeginSection("cause", "What caused it");
        if (item.Culprit is { } culprit) { page.Add($"<p><b>{HtmlPage.Upper(CaseWords.Of(culprit))}.</b> {CaseWords.Meaning(culprit)}</p>\n"); }
        if (inside && item.Evidence.Count > 0) { page.Add($"<ul class=\"more\">{Markup.Join(item.Evidence.Select(e => Markup.Of($"<li>{e}</li>")))}</ul>\n"); }
        if (item.Shrink is { } shrink)
        {
            page.Add($"<p>{CaseWords.Seconds(shrink.ToSeconds)} of motion are enough to show it, of {CaseWords.Seconds(shrink.FromSeconds)}{(shrink.Stopped is { } why ? $"; the search ended {why}" : "")}.</p>\n");
            if (inside) { page.Add($"<p class=\"quiet\">Delta debugging on time (Zeller and Hildebrandt 2002), on {shrink.On}: {shrink.Tried} stretches in {shrink.Plays} plays.{(shrink.Simplified.Count > 0 ? $" And: {string.Join("; ", shrink.Simplified)}." : "")}</p>\n"); }
        }
        page.EndSection();
    }

    private static void Since(HtmlPage page, CaseBisection found, bool inside)
    {
        page.BeginSection("since", "Since which build");
        string or = found.OrOneOf.Count > 0 ? $" (or {string.Join(", ", found.OrOneOf)}, which could not be told apart from it)" : "";
        page.Add($"<p>{(found.Settled ? "It came in with" : "Not settled; most likely it came in with")} <b>{found.FirstBad}</b>{or}, with a probability of {found.Confidence.ToString("0.000", CultureInfo.InvariantCulture)}{(found.Stopped is { } why ? $"; the search ended {why}" : "")}. {found.LastGood} does not show it.</p>\n");
        if (inside)
        {
            page.Add($"<p class=\"quiet\">{found.Plays} plays{(found.FloorPlays is { } floor ? $"; no search needs fewer than {floor.ToString("0.0", CultureInfo.InvariantCulture)} on average" : "")}.</p>\n");
            page.Table("Images, in order", ["Image", "Show it", "Played", "Left out"], found.Images.Where(i => i.Played > 0 || i.LeftOut is not null).Select(i =>
                Markup.Of($"<tr><th scope=\"row\">{i.Name}</th><td class=\"n\">{i.Shown}</td><td class=\"n\">{i.Played}</td><td class=\"words\">{i.LeftOut ?? ""}</td></tr>")));
        }
        page.EndSection();
    }

    private static void Guarded(HtmlPage page, Case item, bool inside)
    {
        page.BeginSection("guard", "How it is guarded");
        page.Add(item.Kept is { } kept
            ? Markup.Of($"<p>The excerpt is a test now. It fails on {(inside ? kept.Fails : "the build that shows the fault")}{(kept.Passes is { } passes ? $", and passes on {(inside ? passes : "one that does not")}" : "; nothing passes it yet")}.{(inside ? $" It is {kept.Folder}/{kept.Scenario}." : "")}</p>\n")
            : Markup.Of($"<p>{(item.Culprit is Culprit.NotReproduced or Culprit.Rig or Culprit.Input ? "Nothing is guarded: the device was not seen to be at fault." : "Nothing is guarded yet.")}</p>\n"));
        page.EndSection();
    }

    private static void Reach(HtmlPage page, Case item, bool inside)
    {
        page.BeginSection("reach", "How far this reaches");
        if (item.Notes.Count > 0) { page.Add($"<ul>{Markup.Join(item.Notes.Select(n => Markup.Of($"<li>{HtmlPage.Upper(n)}.</li>")))}</ul>\n"); }
        if (inside)
        {
            page.Table("Inside", ["What", "Which"],
            [
                HtmlPage.Fact("rig", item.Rig), HtmlPage.Fact("build", item.Build), HtmlPage.Fact("log", item.Log.Length > 0 ? $"{item.Log}, SHA-256 {item.LogSha256}" : "not told"), HtmlPage.Fact("on the host", item.Host ?? "no model was given"), HtmlPage.Fact("tool", item.ToolVersion),
            ], "identity");
        }
        page.Add($"<p>Nothing of the log has left the machine on which this was made.</p>\n");
        page.EndSection();
    }
}
