using HilRunner.Core.Models;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Models;

public sealed class MotionModelTests
{
    internal const string Sample = """
        model: tag
        classes: [resting, carried, dropped]
        input:
          rate: 100 Hz
          channels: {ax: 1 mg, ay: 1 mg, az: 1 mg}
        window: 500 ms
        hop: 100 ms
        tree:
          feature: deviation(a)
          below: 40
          then: {class: resting, confidence: 0.98}
          else: {class: carried}
        confirm: {resting: 2}
        events:
          - {class: dropped, below: 0.4 g, for: 150 ms, above: 2 g, within: 100 ms, quiet: 1 s}
        """;

    [Test]
    public void A_model_file_is_read()
    {
        MotionModel model = MotionModel.Parse(Sample, "tag.yaml");
        Assert.Multiple(() =>
        {
            Assert.That(model.Name, Is.EqualTo("tag"));
            Assert.That(model.Rate.Hertz, Is.EqualTo(100));
            Assert.That(model.Channels.Select(c => (c.Name, c.UnitsPerCount)), Is.EqualTo(new[] { ("ax", 0.001), ("ay", 0.001), ("az", 0.001) }));
            Assert.That(model.Classes, Is.EqualTo(new[] { "resting", "carried", "dropped" }));
            Assert.That((model.Window, model.Hop), Is.EqualTo((50, 10)));
            Assert.That(model.Confirm, Is.EqualTo(new[] { 2, 1, 1 }));
            Assert.That(model.Events, Is.EqualTo(new[] { new EventRule(2, 1, 400, 15, 2000, 10, 100) }));
            Assert.That(model.Tree, Is.EqualTo(new[]
            {
                new TreeNode(new(FeatureStatistic.Deviation, 3), 40, 1, 2, -1, 0),
                new TreeNode(default, 0, 0, 0, 0, 0.98),
                new TreeNode(default, 0, 0, 0, 1, 1),
            }));
        });
    }

    [Test]
    public void All_faults_of_a_file_are_reported_at_once_with_their_places()
    {
        string text = Sample.Replace("100 Hz", "100").Replace("hop: 100 ms", "hop: 105 furlongs")
            .Replace("0.98", "1.2").Replace("quiet:", "silent:");
        var e = Assert.Throws<BadInputException>(() => MotionModel.Parse(text, "bad.yaml"));
        Assert.Multiple(() =>
        {
            Assert.That(e!.Faults.Select(f => f.Found), Is.SupersetOf(new[]
            {
                "input.rate is \"100\" without a unit",
                    "hop is the unit \"furlongs\" in \"105 furlongs\" (known here: s, ms, us, µs, ns, min, h)",
                "tree.then.confidence is \"1.2\"", "unknown key \"silent\" in events[0]", "no quiet in events[0]",
            }));
            Assert.That(e!.Faults.Single(f => f.Found.StartsWith("input.rate", StringComparison.Ordinal)).ToString(),
                Does.StartWith("bad.yaml:4:9: ").And.Contains("50 Hz"));
        });
    }

    /// <summary>What the parts of the file say of each other comes when each of them is readable.</summary>
    [Test]
    public void All_faults_between_the_parts_of_a_file_are_reported_at_once_with_the_nearest_word()
    {
        string text = Sample.Replace("deviation(a)", "wiggle(a)")
            .Replace("else: {class: carried}", "else: {class: carred}").Replace("confirm: {resting", "confirm: {restng");
        var e = Assert.Throws<BadInputException>(() => MotionModel.Parse(text, "bad.yaml"));
        Assert.That(e!.Faults.Select(f => $"{f.Line}:{f.Column} {f.Found} ({f.Remedy})"), Is.EqualTo(new[]
        {
            "9:12 tree.feature is \"wiggle(a)\" ()", "12:17 tree.else.class is \"carred\" (did you mean carried?)",
                "13:11 the key \"restng\" in confirm (did you mean resting?)",
        }));
    }

    [TestCase("  else: {class: carried}", "", "no else in tree")]
    [TestCase("{class: carried}", "{class: carried, below: 3}", "tree.else.below is beside a class")]
    [TestCase("{class: carried}", "{class: carried", "not YAML")]
    [TestCase("{class: carried}", "&tree {class: carried, then: *tree}", "aliases are not read")]
    [TestCase("window: 500 ms", "window: 505 ms", "whole number of samples")]
    [TestCase("window: 500 ms", "window: 60 s", "2 to 4096")]
    [TestCase("hop: 100 ms", "hop: 600 ms", "1 to 50")]
    [TestCase("az: 1 mg", "az: 2 mg", "one scale")]
    [TestCase("ay: 1 mg", "gy: 10 mdps", "no ay in input.channels")]
    [TestCase("ax: 1 mg", "ax: 0 mg", "above 0")]
    [TestCase("resting: 2", "resting: 0", "1 to 1000")]
    [TestCase("above: 2 g", "above: 0.2 g", "impact above")]
    [TestCase("[resting, carried, dropped]", "[resting, carried, carried]", "each class once")]
    [TestCase("hop: 100 ms", "hop: 100 ms\nhop: 100 ms", "each key once")]
    [TestCase("  below: 40", "\tbelow: 40", "YAML")]
    [TestCase("model: tag", "model: {}", "a word")]
    public void A_fault_says_what_was_expected(string right, string wrong, string expected)
    {
        string text = Sample.Replace(right, wrong);
        Assert.That(text, Is.Not.EqualTo(Sample), "the sample has no such place");
        var e = Assert.Throws<BadInputException>(() => MotionModel.Parse(text, "bad.yaml"));
        Assert.That(e!.Message, Does.Contain(expected));
    }

    [Test]
    public void A_tree_that_is_too_deep_is_refused()
    {
        string tree = "{class: resting}";
        for (int i = 0; i < 40; i++) { tree = $"{{feature: mean(ax), below: {i}, then: {{class: carried}}, else: {tree}}}"; }
        string text = Sample[..Sample.IndexOf("tree:", StringComparison.Ordinal)] + "tree: " + tree + "\n";
        var e = Assert.Throws<BadInputException>(() => MotionModel.Parse(text, "deep.yaml"));
        Assert.That(e!.Message, Does.Contain("32 levels"));
    }

    [Test]
    public void An_absent_file_is_bad_input()
    {
        using TemporaryFolder folder = TestPaths.NewFolder();
        Assert.That(() => MotionModel.Read(folder.File("none.yaml")), Throws.TypeOf<BadInputException>());
    }
}
