using System.Reflection;

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
    public void ARoomSeesOnlyWhatItMay(string room, string allowed)
    {
        string[] may = [.. allowed.Split(',', StringSplitOptions.RemoveEmptyEntries).Select(a => $"HilRunner.{a}")];
        Assert.That(References(room).Where(r => r.StartsWith("HilRunner.", StringComparison.Ordinal)), Is.SubsetOf(may));
    }

    [TestCase("Core", "System.IO.Ports", "Serilog", "Spectre.Console", "Polly.Core")]
    [TestCase("Scoring", "System.IO.Ports", "System.Net.Sockets", "System.Diagnostics.Process")]
    [TestCase("Inspection", "System.IO.Ports", "System.Net.Sockets", "System.Diagnostics.Process", "Spectre.Console", "Serilog")]
    [TestCase("Core", "MathNet.Numerics")]
    [TestCase("History", "System.IO.Ports", "Spectre.Console", "Serilog")]
    [TestCase("Engine", "System.IO.Ports", "System.Net.Sockets", "Serilog", "Spectre.Console")]
    [TestCase("Reporting", "System.IO.Ports", "System.Net.Sockets", "System.Diagnostics.Process", "Spectre.Console")]
    public void ARoomDoesNotCarryWhatItMustNot(string room, params string[] forbidden) =>
        Assert.That(References(room).Intersect(forbidden), Is.Empty);

    private static string[] References(string room) =>
        [.. Assembly.LoadFrom(Path.Combine(AppContext.BaseDirectory, $"HilRunner.{room}.dll")).GetReferencedAssemblies().Select(a => a.Name!)];
}
