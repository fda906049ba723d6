using System.Text.RegularExpressions;
using HilRunner.Core.Rigs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Tests.Rigs;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Documents;

/// <summary>What the pages for users show can be read.</summary>
internal sealed partial class ReadmeTests
{
    [Test]
    public void The_scenarios_of_the_page_read()
    {
        var blocks = Blocks("scenarios/README.md");
        string[] whole = [.. blocks.Where(b => b.StartsWith("scenario:", StringComparison.Ordinal)), .. blocks.Where(b => b.StartsWith("  - ", StringComparison.Ordinal)).Select(b => "scenario: s\nstimulus:\n" + b)];
        Assert.That(whole, Has.Length.EqualTo(5));
        foreach (string text in whole) { Assert.That(ScenarioFile.Parse(text, "README.md").Steps, Is.Not.Empty); }
    }

    [Test]
    public void The_outputs_and_frames_of_the_page_read()
    {
        var blocks = Blocks("rigs/README.md");
        string outputs = blocks.Single(b => b.StartsWith("    decisions:", StringComparison.Ordinal));
        string frames = blocks.Single(b => b.StartsWith("  framing:", StringComparison.Ordinal));
        int from = RigFileTests.Bench.IndexOf("    decisions:", StringComparison.Ordinal), to = RigFileTests.Bench.IndexOf("    credit:", StringComparison.Ordinal);
        Rig text = RigFile.Parse(RigFileTests.Bench[..from] + outputs + RigFileTests.Bench[to..], "README.md");
        Rig binary = RigFile.Parse($"rig: r\ndevice:\n  link: {{pty: a}}\n{frames}  hears: {{sample: {{type: 1, fields: [{{ax: i16}}]}}}}\n  input: {{rate: 50 Hz, channels: {{ax: {{count: 1 mg, range: 8 g}}}}}}\n", "README.md");
        Assert.Multiple(() =>
        {
            Assert.That(text.Device.Outputs, Is.EqualTo(new[] { "activity", "mounting" }));
            Assert.That(binary.Device.Says.Decisions[0].Message.Layout!.Type, Is.EqualTo(0x10));
        });
    }

    private static List<string> Blocks(string page) =>
        [.. BlockForm().Matches(File.ReadAllText(Path.Combine(TestPaths.Root, page))).Select(m => m.Groups[1].Value)];

    [GeneratedRegex("^```yaml\n(.*?)^```", RegexOptions.Singleline | RegexOptions.Multiline)]
    private static partial Regex BlockForm();
}
