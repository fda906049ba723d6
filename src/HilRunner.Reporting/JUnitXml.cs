using System.Globalization;
using System.Text;
using System.Xml;
using HilRunner.Scoring;
using HilRunner.Scoring.Comparing;

namespace HilRunner.Reporting;

/// <summary>
/// A suite as the JUnit-style XML that CI servers read: one test case per run. There is no element for "inconclusive", and
/// "skipped" is read as harmless, so an inconclusive run is an error of type "inconclusive". Runs that were played again are
/// left out: the run that took their place stands for them.
/// </summary>
public static class JUnitXml
{
    /// <summary>Writes UTF-8 without a byte order mark. Characters that XML 1.0 cannot hold become U+FFFD.</summary>
    public static void Write(SuiteResult suite, Stream output)
    {
        ArgumentNullException.ThrowIfNull(suite);
        var runs = suite.Runs.Where(r => !r.PlayedAgain).ToList();
        int skipped = runs.Count(r => r.Verdict == Verdict.None);
        using var xml = XmlWriter.Create(output, new() { Indent = true, Encoding = new UTF8Encoding(false), NewLineChars = "\n" });
        xml.WriteStartElement("testsuites");
        xml.WriteStartElement("testsuite");
        Attribute(xml, "package", "hilrunner");
        Attribute(xml, "id", "0");
        Attribute(xml, "name", NameOr(suite.Name, "suite"));
        Attribute(xml, "timestamp", suite.Started.UtcDateTime.ToString("yyyy-MM-ddTHH:mm:ss", CultureInfo.InvariantCulture));
        Attribute(xml, "hostname", NameOr(suite.Host, "localhost"));
        bool worse = suite.Comparison?.Comparison.Overall == Change.Worse;
        Attribute(xml, "tests",
            Number(runs.Count + suite.PooledLimits.Count
                + (suite.Comparison is null ? 0 : 1) + (suite.WhyUndelivered is null ? 0 : 1)));
        Attribute(xml, "failures", Number(runs.Count(r => r.Verdict == Verdict.Fail) + suite.PooledLimits.Count(l => l.Judged.Outcome == Outcome.Broken) + (worse ? 1 : 0)));
        Attribute(xml, "errors",
            Number(runs.Count(r => r.Verdict is Verdict.Inconc or Verdict.Error)
                + suite.PooledLimits.Count(l => l.Judged.Outcome == Outcome.Open) + (suite.WhyUndelivered is null ? 0 : 1)));
        // Only where there is something to count: the older of the public schemas does not know the attribute.
        if (skipped > 0) { Attribute(xml, "skipped", Number(skipped)); }
        Attribute(xml, "time", Seconds(suite.Started, suite.Ended));
        Properties(xml, suite);
        foreach (SuiteRun run in runs) { Case(xml, suite, run); }
        foreach (var pooled in suite.PooledLimits) { PooledCase(xml, suite, pooled.Judged); }
        if (suite.WhyUndelivered is { } undelivered)
        {
            Start(xml, suite, "delivery is shown", "0");
            Problem(xml, "error", "inconclusive", undelivered, undelivered);
            xml.WriteEndElement();
        }
        if (suite.Comparison is { } since)
        {
            Start(xml, suite, $"compared with {since.Baseline}", "0");
            string answer = $"{CompareWords.Of(since.Comparison.Overall)}: {CompareWords.Answer(since)}";
            if (worse) { Problem(xml, "failure", "comparison", answer, answer); }
            xml.WriteEndElement();
        }
        // Of a test case the stricter schema takes no output, and no properties.
        xml.WriteElementString("system-out",
            Clean(string.Join("\n", suite.Reasons.Concat(runs.SelectMany(r => Beside(r).Select(n => $"{Name(r)}: {n}"))))));
        xml.WriteElementString("system-err", "");
        xml.WriteEndElement();
        xml.WriteEndElement();
        xml.WriteEndDocument();
    }

    /// <summary>What stands beside the verdict of a run: delivery and what shows it, then its notes.</summary>
    private static IEnumerable<string> Beside(SuiteRun run) =>
        run.DeliveryText.Length > 0 ? run.Notes.Prepend($"delivery: {run.DeliveryText}") : run.Notes;

    private static void Properties(XmlWriter xml, SuiteResult suite)
    {
        xml.WriteStartElement("properties");
        Property(xml, "verdict", Words.Of(suite.Verdict));
        Property(xml, "tool", suite.ToolVersion);
        Property(xml, "build", suite.Build.Label);
        Property(xml, "image", suite.Build.Image);
        Property(xml, "image_sha256", suite.Build.Sha256);
        Property(xml, "delivery_not_shown", Number(suite.DeliveryNotShown));
        xml.WriteEndElement();
    }

    private static void Property(XmlWriter xml, string name, string? value)
    {
        if (string.IsNullOrEmpty(value)) { return; }
        xml.WriteStartElement("property");
        Attribute(xml, "name", name);
        Attribute(xml, "value", value);
        xml.WriteEndElement();
    }

    private static void Case(XmlWriter xml, SuiteResult suite, SuiteRun run)
    {
        Start(xml, suite, Name(run), Seconds(run.Started, run.Ended));
        string message = run.Reasons.Count > 0 ? run.Reasons[0] : Words.WithoutReason(run.Verdict);
        string text = string.Join("\n", run.Reasons.Concat(run.Limits.Select(l => Words.Sentence(l))).Concat(Beside(run)));
        switch (run.Verdict)
        {
            case Verdict.Fail: Problem(xml, "failure", "limit", message, text); break;
            case Verdict.Inconc: Problem(xml, "error", "inconclusive", message, text); break;
            case Verdict.Error: Problem(xml, "error", "error", message, text); break;
            case Verdict.None: xml.WriteElementString("skipped", Clean(message)); break;
            default: break;
        }
        xml.WriteEndElement();
    }

    private static void PooledCase(XmlWriter xml, SuiteResult suite, LimitOutcome limit)
    {
        Start(xml, suite, "all trials together: " + limit.Text, "0");
        string text = Words.Sentence(limit);
        if (limit.Outcome == Outcome.Broken) { Problem(xml, "failure", "limit", text, text); }
        if (limit.Outcome == Outcome.Open) { Problem(xml, "error", "inconclusive", text, text); }
        xml.WriteEndElement();
    }

    private static void Start(XmlWriter xml, SuiteResult suite, string name, string time)
    {
        xml.WriteStartElement("testcase");
        Attribute(xml, "classname", NameOr(suite.Name, "suite"));
        Attribute(xml, "name", name);
        Attribute(xml, "time", time);
    }

    private static void Problem(XmlWriter xml, string element, string type, string message, string text)
    {
        xml.WriteStartElement(element);
        Attribute(xml, "type", type);
        Attribute(xml, "message", message);
        xml.WriteString(Clean(text));
        xml.WriteEndElement();
    }

    private static void Attribute(XmlWriter xml, string name, string value) => xml.WriteAttributeString(name, Clean(value));
    private static string Name(SuiteRun run) =>
        FormattableString.Invariant($"{NameOr(run.Scenario, "scenario")} (repeat {run.Repeat})");
    private static string NameOr(string name, string otherwise) => string.IsNullOrWhiteSpace(name) ? otherwise : name;
    private static string Number(int n) => n.ToString(CultureInfo.InvariantCulture);

    private static string Seconds(DateTimeOffset? from, DateTimeOffset? to) =>
        from is { } a && to is { } b ? Math.Max(0, (b - a).TotalSeconds).ToString("0.000", CultureInfo.InvariantCulture) : "0";

    /// <summary>XML 1.0, production [2] Char: everything else, lone surrogates included, becomes U+FFFD.</summary>
    internal static string Clean(string text)
    {
        var clean = new StringBuilder(text.Length);
        for (int i = 0; i < text.Length; i++)
        {
            char c = text[i];
            if (char.IsHighSurrogate(c) && i + 1 < text.Length && char.IsLowSurrogate(text[i + 1]))
            {
                clean.Append(c).Append(text[++i]);
                continue;
            }
            clean.Append(XmlConvert.IsXmlChar(c) ? c : '\uFFFD');
        }
        return clean.ToString();
    }
}
