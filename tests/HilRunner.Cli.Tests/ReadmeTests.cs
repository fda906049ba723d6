using System.Text.RegularExpressions;
using HilRunner.Core.Rigs;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>What the documents say is there, is there.</summary>
public partial class ReadmeTests
{
    private static IEnumerable<string> Documents() =>
        new[] { "." }.Concat(["src", "rigs", "scenarios", "tests"])
            .SelectMany(f => Directory.GetFiles(Path.Combine(TestPaths.Root, f), "*.md", f == "." ? SearchOption.TopDirectoryOnly : SearchOption.AllDirectories))
            .Select(f => Path.GetRelativePath(TestPaths.Root, f))
            .Where(f => !f.Contains("node_modules") && !f.Split(Path.DirectorySeparatorChar).Any(part => part is "bin" or "obj"));

    [TestCaseSource(nameof(Documents))]
    public void LinksLeadSomewhere(string document)
    {
        string path = Path.Combine(TestPaths.Root, document);
        foreach (Match link in Links().Matches(File.ReadAllText(path)))
        {
            string target = link.Groups["target"].Value;
            Assert.That(Path.Exists(Path.GetFullPath(target, Path.GetDirectoryName(path)!)), $"{document} links to {target}");
        }
    }

    [Test]
    public void TheRigOfTheReadmeIsOne()
    {
        string readme = File.ReadAllText(Path.Combine(TestPaths.Root, "README.md"));
        string yaml = readme.Split("```yaml\n")[1].Split("```")[0];
        Assert.That(RigFile.Parse(yaml, "README.md").Device.Hears.Sample?.Template, Is.EqualTo("s {n} {ax} {ay} {az}"));
    }

    /// <summary>Its first command is what <see cref="DemoRunTests"/> runs; its second is what runs these tests.</summary>
    [Test]
    public void TheTwoCommandsAreTheFirstOnes()
    {
        string block = File.ReadAllText(Path.Combine(TestPaths.Root, "README.md")).Split("```sh\n")[1].Split("```")[0];
        string[] commands = [.. block.Split('\n', StringSplitOptions.RemoveEmptyEntries).Select(l => l.Split('#')[0].Trim())];
        Assert.That(commands, Is.EqualTo(new[]
        {
            "dotnet run -c Release --project src/HilRunner.Cli -- run scenarios/parcel --rig rigs/virtual.yaml", "bash ci/test",
        }));
        Assert.That(File.Exists(Path.Combine(TestPaths.Root, "ci", "test")));
    }

    [Test]
    public void EveryCommandThatTheReadmeNamesHasHelp()
    {
        string readme = File.ReadAllText(Path.Combine(TestPaths.Root, "README.md"));
        string[] named = [.. Commands().Matches(readme).Select(m => m.Groups[1].Value).Distinct()];
        Assert.That(named, Has.Length.GreaterThanOrEqualTo(6));
        foreach (string command in named) { Assert.That(Hil.Run(command, "--help").Code, Is.Zero, command); }
    }

    [GeneratedRegex(@"\]\((?<target>[^)#:]+)(#[^)]*)?\)")]
    private static partial Regex Links();

    [GeneratedRegex(@"`hil ([a-z]+)")]
    private static partial Regex Commands();
}
