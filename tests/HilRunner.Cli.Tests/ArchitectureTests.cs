using System.Diagnostics;
using System.Reflection;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>The arrows of DEVELOPERS.md: who may see whom.</summary>
public class ArchitectureTests
{
    [TestCase("Core", "")]
    [TestCase("Transport", "Core")]
    [TestCase("Engine", "Core")]
    [TestCase("Scoring", "Core")]
    [TestCase("Device", "Core,Transport")]
    [TestCase("Inspection", "Core")]
    [TestCase("Reporting", "Core,Scoring,Inspection")]
    [TestCase("History", "Core,Scoring")]
    [TestCase("Application", "Core,Transport,Engine,Scoring,Inspection,Reporting,History,Device")]
    public void ARoomSeesOnlyWhatItMay(string room, string allowed)
    {
        string[] may = [.. allowed.Split(',', StringSplitOptions.RemoveEmptyEntries).Select(a => $"HilRunner.{a}")];
        Assert.That(References(room).Where(r => r.StartsWith("HilRunner.", StringComparison.Ordinal)), Is.SubsetOf(may));
    }

    [TestCase("Core", "System.IO.Ports", "Serilog", "Spectre.Console", "Polly.Core")]
    [TestCase("Scoring", "System.IO.Ports", "System.Net.Sockets", "System.Diagnostics.Process")]
    [TestCase("Inspection", "System.IO.Ports", "System.Net.Sockets", "System.Diagnostics.Process", "Spectre.Console", "Serilog")]
    [TestCase("History", "System.IO.Ports", "Spectre.Console", "Serilog")]
    [TestCase("Engine", "System.IO.Ports", "System.Net.Sockets", "Serilog", "Spectre.Console")]
    [TestCase("Reporting", "System.IO.Ports", "System.Net.Sockets", "System.Diagnostics.Process", "Spectre.Console")]
    [TestCase("Application", "System.Console", "Spectre.Console", "System.CommandLine")]
    public void ARoomDoesNotCarryWhatItMustNot(string room, params string[] forbidden) =>
        Assert.That(References(room).Intersect(forbidden), Is.Empty);

    /// <summary>What a run, a recording or a build leaves there by chance is in nobody's way, and is not kept.</summary>
    [Test]
    public void TheTopLevelHoldsOnlyWhatBelongsThere()
    {
        using var git = Process.Start(
            new ProcessStartInfo(
                "git", ["ls-files", "-z"]) { WorkingDirectory = TestPaths.Root, RedirectStandardOutput = true })!;
        string files = git.StandardOutput.ReadToEnd();
        git.WaitForExit();
        Assert.That(git.ExitCode, Is.Zero, "needs a checkout");
        string[] there = [.. files.Split('\0', StringSplitOptions.RemoveEmptyEntries)
            .Select(f => f.Split('/')[0]).Distinct().Where(name => name[0] != '.')];
        Assert.That(there, Is.SubsetOf(new[]
        {
            "README.md", "DEVELOPERS.md", "LICENSE", "HilRunner.sln", "Directory.Build.props",
                "Directory.Packages.props", "global.json", "ci", "rigs", "scenarios", "src", "tests",
        }));
    }

    private static string[] References(string room) =>
        [.. Assembly.LoadFrom(Path.Combine(AppContext.BaseDirectory, $"HilRunner.{room}.dll")).GetReferencedAssemblies().Select(a => a.Name!)];
}
