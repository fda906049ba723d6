using HilRunner.Core.Scenarios;
using HilRunner.Core.Tests.Documents;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Scenarios;

internal sealed class SuiteFileTests
{
    private static IEnumerable<string> Examples => ExampleDocuments.Suites;

    [TestCaseSource(nameof(Examples))]
    public void An_example_reads(string file) => Assert.That(SuiteFile.Read(Path.Combine(TestPaths.Root, file)).Scenarios, Is.Not.Empty);

    [Test]
    public void Patterns_find_scenarios_in_order_each_once()
    {
        using var folder = TestPaths.NewFolder();
        foreach (string name in new[] { "b.yaml", "a.yaml", "deep/er/c.yaml", "deep/d.yaml", ".hidden/e.yaml" }) { Write(folder, name, "scenario: s\n"); }
        Write(folder, "model.yaml", "model: m\n");
        Write(folder, "suite.yaml", "suite: nightly\nscenarios: [b.yaml, \"*.yaml\", \"deep/**/*.yaml\", \"?.yaml\"]\nrepeats: 3\norder: shuffled\nseed: 7\nlimits: [{measure: recognised, class: carried, at_least: 90 %, confidence: 0.95}]\n");
        Suite suite = SuiteFile.Read(folder.File("suite.yaml"));
        Assert.Multiple(() =>
        {
            Assert.That(suite.Scenarios.Select(s => Path.GetRelativePath(folder.Path, s).Replace('\\', '/')), Is.EqualTo(new[] { "b.yaml", "a.yaml", "deep/d.yaml", "deep/er/c.yaml" }));
            Assert.That((suite.Name, suite.Repeats, suite.Order, suite.Seed), Is.EqualTo(("nightly", 3, SuiteOrder.Shuffled, 7UL)));
            Assert.That(suite.Limits, Is.EqualTo(new[] { new Limit(Measure.Recognised) { Class = "carried", AtLeast = 0.9, Confidence = 0.95 } }));
        });
    }

    [Test]
    public void Files_that_are_not_there_or_no_scenarios_are_told()
    {
        using var folder = TestPaths.NewFolder();
        Write(folder, "model.yaml", "model: m\n");
        Write(folder, "suite.yaml", "suite: s\nscenarios: [none.yaml, model.yaml, \"m*.yaml\"]\nrepeats: 0\n");
        var faults = Assert.Throws<BadInputException>(() => SuiteFile.Read(folder.File("suite.yaml")))!.Faults;
        Assert.That(faults.Select(f => $"{f.Line}:{f.Column}: {f.Found}"), Is.EqualTo(new[]
        {
            "2:13: scenarios[0] is \"none.yaml\", which does not exist",
            "2:24: scenarios[1] is \"model.yaml\", which is no scenario",
            "2:36: scenarios[2] is \"m*.yaml\", which matches no scenario",
            "3:10: repeats is \"0\"",
        }));
    }

    [Test]
    public void A_limit_of_a_suite_has_a_confidence()
    {
        using var folder = TestPaths.NewFolder();
        Write(folder, "a.yaml", "scenario: s\n");
        Write(folder, "suite.yaml", "suite: s\nscenarios: [a.yaml]\nlimits: [{measure: recognised, at_least: 0.9}]\n");
        Assert.That(Assert.Throws<BadInputException>(() => SuiteFile.Read(folder.File("suite.yaml")))!.Message, Does.Contain(
            "suite.yaml:3:9: a limit on recognised without a confidence in limits; expected a confidence with each limit that is judged over all trials, such as confidence: 0.9; add it; limits that are judged run by run stand in the scenarios"));
    }

    [Test]
    public void A_suite_has_the_defaults_of_its_record()
    {
        using var folder = TestPaths.NewFolder();
        Write(folder, "a.yaml", "scenario: s\n");
        Write(folder, "suite.yaml", "suite: s\nscenarios: [a.yaml]\n");
        Assert.That(SuiteFile.Read(folder.File("suite.yaml")), Is.EqualTo(new Suite { Name = "s", Scenarios = [Path.Combine(folder.Path, "a.yaml")] }).UsingPropertiesComparer());
    }

    private static void Write(TemporaryFolder folder, string name, string text)
    {
        Directory.CreateDirectory(Path.GetDirectoryName(folder.File(name))!);
        File.WriteAllText(folder.File(name), text);
    }
}
