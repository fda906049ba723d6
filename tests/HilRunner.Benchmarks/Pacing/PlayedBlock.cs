using System.Diagnostics;
using System.Globalization;
using HilRunner.Core.Runs;

namespace HilRunner.Benchmarks.Pacing;

/// <summary>
/// One run by <c>hil run --speed real</c> as a person would start it: on a terminal that somebody reads (a pseudo-terminal held by
/// script(1)), so with the live line and the decoding behind it, with capture, on the virtual device behind its pseudo-terminal in
/// the player's process. One message a sample.
/// </summary>
internal sealed class PlayedBlock(string root, string folder)
{
    private int _number;

    /// <summary>Lateness of every sample by playout.csv: actual − due, where actual is the moment before the write.</summary>
    public Lateness Measure(int rateHz, int seconds, bool besideAllocator)
    {
        string block = Path.Combine(folder, $"{++_number:000}");
        Directory.CreateDirectory(block);
        WriteFiles(block, rateHz, seconds);
        string here = AppContext.BaseDirectory;
        string[] program = besideAllocator
            ? ["dotnet", "exec", "--runtimeconfig", Path.Combine(here, "hil.runtimeconfig.json"), "--depsfile", Path.Combine(here, "HilRunner.Benchmarks.deps.json"),
                Path.Combine(here, "HilRunner.Benchmarks.dll"), "hil-beside-allocator"]
            : [Path.Combine(here, "hil")];
        string[] arguments = ["run", Path.Combine(block, "scenario.yaml"), "--rig", Path.Combine(block, "rig.yaml"), "--speed", "real", "--out", Path.Combine(block, "runs")];
        string output = RunOnTerminal(string.Join(' ', program.Concat(arguments).Select(word => $"'{word}'")));
        if (!output.Contains('━', StringComparison.Ordinal)) { throw new InvalidOperationException($"no live line was drawn: {output}"); }
        if (besideAllocator) { Allocator.Reached(output); }
        var rows = PlayoutFile.Read(Directory.GetFiles(block, RunFiles.Playout, SearchOption.AllDirectories).Single());
        if (rows.Count != rateHz * seconds) { throw new InvalidOperationException($"{rows.Count} of {rateHz * seconds} samples were played: {output}"); }
        Directory.Delete(block, recursive: true);
        return new(rows.Select(row => (row.ActualNs - row.DueNs!.Value) / 1e3));
    }

    /// <summary>The parcel tag of the repository at another rate; above 3 kHz with half the window, as much as it takes, and more credit.</summary>
    private void WriteFiles(string block, int rateHz, int seconds)
    {
        string rate = rateHz.ToString(CultureInfo.InvariantCulture);
        bool fast = rateHz > 3000;
        string model = File.ReadAllText(Path.Combine(root, "scenarios", "parcel", "model.yaml")).Replace("rate: 100 Hz", $"rate: {rate} Hz", StringComparison.Ordinal);
        if (fast) { model = model.Replace("window: 1.28 s", "window: 640 ms", StringComparison.Ordinal); }
        string rig = File.ReadAllText(Path.Combine(root, "rigs", "virtual.yaml"))
            .Replace("../scenarios/parcel/model.yaml", "model.yaml", StringComparison.Ordinal)
            .Replace("input: {rate: 100 Hz", $"input: {{{(fast ? "window: 4000, " : "")}rate: {rate} Hz", StringComparison.Ordinal);
        if (fast) { rig = rig.Replace("credit_window: 256", "credit_window: 4096", StringComparison.Ordinal); }
        File.WriteAllText(Path.Combine(block, "model.yaml"), model);
        File.WriteAllText(Path.Combine(block, "rig.yaml"), rig);
        File.WriteAllText(Path.Combine(block, "scenario.yaml"), string.Create(CultureInfo.InvariantCulture, $$"""
            scenario: pacing
            stimulus:
              - synth: {tone: 16 Hz, peak: 0.3 g, axis: z, for: {{seconds}} s, class: conveyed}
            """));
    }

    private static string RunOnTerminal(string command)
    {
        var start = new ProcessStartInfo("script", ["--quiet", "--return", "--command", command, "/dev/null"]) { RedirectStandardInput = true, RedirectStandardOutput = true };
        using var process = Process.Start(start)!;
        process.StandardInput.Close();
        string output = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        return output;
    }
}
