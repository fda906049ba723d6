using System.Diagnostics;
using System.Globalization;
using System.Runtime.InteropServices;
using System.Text;
using HilRunner.Benchmarks.Pacing;
using HilRunner.Core.Runs;

namespace HilRunner.Benchmarks.Nights;

/// <summary>
/// A night of hundreds of scenarios on four virtual rigs at speed max: is everything accounted for, does memory stay flat, what does a run cost beside what is played. And pacing at real speed
/// with one, four and eight rigs, in turns.
/// </summary>
internal static class NightBenchmark
{
    private const int Rigs = 4, Repeats = 4, Blocks = 3, PacedSeconds = 20, RateHz = 100;
    private static readonly int[] s_paced = [1, 4, 8];

    /// <param name="args">--scenarios N (500), --write FILE.</param>
    public static int Run(string[] args)
    {
        int scenarios = 500;
        string? write = null;
        for (int i = 0; i + 1 < args.Length; i += 2)
        {
            if (args[i] == "--scenarios") { scenarios = int.Parse(args[i + 1], CultureInfo.InvariantCulture); }
            if (args[i] == "--write") { write = args[i + 1]; }
        }
        var folder = Directory.CreateTempSubdirectory("hil-night-");
        try
        {
            var text = new StringBuilder();
            void Line(FormattableString line)
            {
                string said = FormattableString.Invariant(line);
                Console.WriteLine(said);
                text.Append(said).Append('\n');
            }
            Line($"# A night, and several rigs at once");
            Line($"");
            Line($"{RuntimeInformation.OSDescription.Trim()}, {RuntimeInformation.ProcessArchitecture}, {Environment.ProcessorCount} cores; {RuntimeInformation.FrameworkDescription}. Made by `dotnet run -c Release --project tests/HilRunner.Benchmarks -- night --write FILE`.");
            Line($"");
            Night(folder.FullName, scenarios, Line);
            Line($"");
            Paced(folder.FullName, Line);
            if (write is not null) { File.WriteAllText(write, text.ToString()); }
            return 0;
        }
        finally { folder.Delete(recursive: true); }
    }

    private static void Night(string folder, int scenarios, Action<FormattableString> line)
    {
        string night = Directory.CreateDirectory(Path.Combine(folder, "night")).FullName;
        for (int i = 1; i <= scenarios; i++)
        {
            double tone = 14 + (i % 17 / 4.0);
            File.WriteAllText(Path.Combine(night, FormattableString.Invariant($"part-{i:000}.yaml")),
                FormattableString.Invariant($"scenario: part {i}\nstimulus: [{{synth: {{tone: {tone} Hz, peak: 0.3 g, axis: z, for: 6 s, class: conveyed}}}}]\nlead: 3 s\nwithin: 4 s\nlimits: [{{measure: missed, at_most: 0}}]\n"));
        }
        File.WriteAllText(Path.Combine(night, "suite.yaml"), $"suite: night\nscenarios: [part-*.yaml]\nrepeats: {Repeats}\n");
        WriteRigs(night, Rigs);
        var memory = new List<(double Share, long Parent, long Players)>();
        long begin = Stopwatch.GetTimestamp();
        using var process = Start(night, "max");
        int planned = scenarios * Repeats;
        string runs = Path.Combine(night, "runs");
        var output = process.StandardOutput.ReadToEndAsync();
        var errors = process.StandardError.ReadToEndAsync();
        while (!process.WaitForExit(1000))
        {
            if (!Directory.Exists(runs)) { continue; }
            int done = Directory.GetDirectories(Directory.GetDirectories(runs).Single()).Length;
            if (done > 0 && Resident(process.Id) is > 0 and var parent) { memory.Add(((double)done / planned, parent, Children(process.Id).Sum(Resident))); }
        }
        TimeSpan took = Stopwatch.GetElapsedTime(begin);
        if (process.ExitCode != 0) { throw new InvalidOperationException($"exit code {process.ExitCode}: {output.Result}{errors.Result}"); }
        var stored = Directory.GetFiles(runs, RunFiles.Manifest, SearchOption.AllDirectories).Select(RunManifestFile.Read).ToList();
        int accounted = stored.Select(r => (r.ScenarioName, r.Repeat)).Distinct().Count();
        if (stored.Count != planned || accounted != planned) { throw new InvalidOperationException($"{stored.Count} runs, {accounted} different ones, of {planned}"); }
        var played = stored.Select(r => (r.Ended!.Value - r.Started).TotalMilliseconds).Order().ToArray();
        double perRun = took.TotalMilliseconds * Rigs / planned, median = played[played.Length / 2];
        var share = stored.GroupBy(r => r.RigName).Select(g => g.Count()).Order().ToArray();
        var early = memory.Where(m => m.Share is > 0.1 and < 0.3).ToList();
        var late = memory.Where(m => m.Share > 0.8).ToList();
        line($"## {scenarios} scenarios of 9 s, {Repeats} times each, on {Rigs} virtual rigs at speed max");
        line($"");
        line($"| | |");
        line($"|---|---|");
        line($"| runs planned, played, accounted for | {planned}, {stored.Count}, {accounted} |");
        line($"| in all | {took.TotalSeconds:0} s for {planned * 9 / 3600.0:0.0} h of motion |");
        line($"| runs a rig, least and most | {share[0]}, {share[^1]} |");
        line($"| a rig's time per run | {perRun:0} ms |");
        line($"| of it on the link (reset, identity, clock, samples, quiet), median and mean | {median:0}, {played.Average():0} ms |");
        line($"| overhead of the runner per run (stimulus, plan, review, score, report), {Environment.ProcessorCount} cores shared by {Rigs} rigs | {perRun - played.Average():0} ms |");
        line($"| resident memory of the parent, median from 10 to 30 % of the night, and in its last fifth | {Median(early, m => m.Parent)} MB, {Median(late, m => m.Parent)} MB |");
        line($"| of its {Rigs} players, likewise | {Median(early, m => m.Players)} MB, {Median(late, m => m.Players)} MB |");
        Directory.Delete(night, recursive: true);
    }

    private static void Paced(string folder, Action<FormattableString> line)
    {
        var late = s_paced.ToDictionary(n => n, _ => new List<Lateness>());
        for (int block = 0; block < Blocks; block++)
        {
            foreach (int rigs in s_paced) { late[rigs].Add(PacedBlock(folder, rigs)); }
        }
        line($"## Pacing at real speed, {RateHz} samples/s a rig, {Blocks} blocks of {PacedSeconds} s in turn; a player process with its pacing thread a rig");
        line($"");
        line($"| rigs at once | lateness µs, median | 99 % | 99.9 % | greatest | 99 % beside one rig |");
        line($"|---|---|---|---|---|---|");
        double one = Middle(late[1], l => l.Quantile(0.99m));
        foreach (int rigs in s_paced)
        {
            var of = late[rigs];
            double p99 = Middle(of, l => l.Quantile(0.99m));
            line($"| {rigs} | {Middle(of, l => l.Quantile(0.5m)):0.0} | {p99:0} | {Middle(of, l => l.Quantile(0.999m)):0} | {of.Max(l => l.Quantile(1)):0} | {p99 / one:0.0} |");
        }
    }

    private static Lateness PacedBlock(string folder, int rigs)
    {
        string block = Directory.CreateDirectory(Path.Combine(folder, "paced")).FullName;
        for (int i = 1; i <= rigs; i++) { File.WriteAllText(Path.Combine(block, $"part-{i}.yaml"), FormattableString.Invariant($"scenario: part {i}\nstimulus: [{{synth: {{tone: 16 Hz, peak: 0.3 g, axis: z, for: {PacedSeconds} s, class: conveyed}}}}]\nlead: 0 s\n")); }
        File.WriteAllText(Path.Combine(block, "suite.yaml"), "suite: paced\nscenarios: [part-*.yaml]\n");
        WriteRigs(block, rigs);
        using var process = Start(block, "real");
        _ = process.StandardOutput.ReadToEndAsync();
        string errors = process.StandardError.ReadToEnd();
        process.WaitForExit();
        string[] played = Directory.GetFiles(block, RunFiles.Playout, SearchOption.AllDirectories);
        if (played.Length != rigs) { throw new InvalidOperationException($"{played.Length} of {rigs} runs: {errors}"); }
        var lateness = new Lateness(played.SelectMany(path => PlayoutFile.Read(path)).Select(row => (row.ActualNs - row.DueNs!.Value) / 1e3));
        Directory.Delete(block, recursive: true);
        return lateness;
    }

    private static void WriteRigs(string folder, int rigs)
    {
        string text = File.ReadAllText(Path.Combine(Checkout.Root, "rigs", "virtual.yaml")).Replace("../scenarios", Path.Combine(Checkout.Root, "scenarios"), StringComparison.Ordinal);
        Directory.CreateDirectory(Path.Combine(folder, "rigs"));
        for (int i = 1; i <= rigs; i++) { File.WriteAllText(Path.Combine(folder, "rigs", $"bench-{i}.yaml"), text.Replace("rig: virtual", $"rig: bench-{i}", StringComparison.Ordinal)); }
    }

    private static Process Start(string folder, string speed) => Process.Start(new ProcessStartInfo(Path.Combine(AppContext.BaseDirectory, "hil"),
        ["run", Path.Combine(folder, "suite.yaml"), "--rig", Path.Combine(folder, "rigs"), "--out", Path.Combine(folder, "runs"), "--speed", speed, "--quiet"])
    { RedirectStandardOutput = true, RedirectStandardError = true })!;

    /// <summary>Bytes; 0: it is gone.</summary>
    private static long Resident(int process)
    {
        try { return long.Parse(File.ReadAllText($"/proc/{process}/statm").Split(' ')[1], CultureInfo.InvariantCulture) * Environment.SystemPageSize; }
        catch (IOException) { return 0; }
    }

    /// <summary>A process started by any of its threads.</summary>
    private static List<int> Children(int process)
    {
        try { return [.. Directory.GetDirectories($"/proc/{process}/task").SelectMany(t => File.ReadAllText(Path.Combine(t, "children")).Split(' ', StringSplitOptions.RemoveEmptyEntries)).Select(int.Parse)]; }
        catch (IOException) { return []; }
    }

    private static long Median<T>(List<T> of, Func<T, long> value) => of.Count == 0 ? 0 : of.Select(value).Order().ElementAt(of.Count / 2) / 1_000_000;

    private static double Middle(List<Lateness> of, Func<Lateness, double> value) => of.Select(value).Order().ElementAt(of.Count / 2);
}
