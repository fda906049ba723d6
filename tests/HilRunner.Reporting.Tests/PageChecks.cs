using System.Text.Json;

namespace HilRunner.Reporting.Tests;

/// <summary>What holds for every page, of runs, of suites and of recordings.</summary>
internal static class PageChecks
{
    /// <summary>No complaint of the browser, no request, nothing wider than the screen, and a heading that says what came of it.</summary>
    /// <param name="heading">Regular expression of what the heading begins with.</param>
    public static async Task AssertSoundAsync(OpenPage open, int width, string heading)
    {
        int wide = await open.Page.EvaluateAsync<int>("document.documentElement.scrollWidth - innerWidth");
        string title = await open.Page.TitleAsync();
        string h1 = await open.Page.Locator("h1").InnerTextAsync();
        Assert.Multiple(() =>
        {
            Assert.That(open.Complaints, Is.Empty);
            Assert.That(open.Requests.Skip(1), Is.Empty);
            Assert.That(wide, Is.LessThanOrEqualTo(0), $"overflows at {width} px");
            Assert.That(title, Is.Not.EqualTo("broken in"));
            Assert.That(h1, Does.Match($"^({heading})").IgnoreCase);
        });
    }

    /// <summary>No violation of the accessibility rules, with everything unfolded.</summary>
    /// <param name="leastRules">More rules than this must have applied: with fewer the check means nothing.</param>
    public static async Task AssertAccessibleAsync(OpenPage open, int leastRules)
    {
        await open.Page.EvaluateAsync("document.querySelectorAll('details').forEach(d => d.open = true)");
        await open.Page.AddScriptTagAsync(new() { Content = await File.ReadAllTextAsync(NodeModules.Find("axe-core", "axe.min.js")) });
        JsonElement? result = await open.Page.EvaluateAsync("axe.run().then(r => ({ checked: r.passes.length, violations: r.violations.map(v => v.id + ': ' + v.nodes.map(n => n.html.slice(0, 200) + ' ' + n.failureSummary).slice(0, 3).join(' | ')) }))");
        Assert.Multiple(() =>
        {
            Assert.That(result!.Value.GetProperty("violations").EnumerateArray().Select(v => v.GetString()), Is.Empty);
            Assert.That(result.Value.GetProperty("checked").GetInt32(), Is.GreaterThan(leastRules), "too few rules applied for this to mean anything");
        });
    }
}
