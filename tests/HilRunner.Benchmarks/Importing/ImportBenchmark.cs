using System.Diagnostics;
using System.Globalization;
using System.Runtime.InteropServices;
using System.Text;
using nietras.SeparatedValues;

namespace HilRunner.Benchmarks.Importing;

/// <summary>
/// `hil import` on one generated log, beside a bare read of the same file with the parser that it uses (every cell as double) and beside
/// Debian's pandas, each a process of its own, in turns; and the memory that each needed at most.
/// </summary>
internal static class ImportBenchmark
{
    private const double RateHz = 800;

    /// <summary>Runs a command and prints its seconds and the largest resident set of it, in MiB (Linux gives ru_maxrss in KiB).</summary>
    private const string Measure = "import sys,time,resource,subprocess; t=time.monotonic(); r=subprocess.run(sys.argv[1:],stdout=subprocess.DEVNULL); "
        + "print(time.monotonic()-t, resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss/1024); sys.exit(r.returncode)";

    /// <param name="args">
    /// [--mb N] size of the log (default 100), [--blocks N] (default 3), [--tool] without the baselines, for memory at sizes that they cannot
    /// hold; [--write FILE] the result goes there as well.
    /// </param>
    public static int Run(string[] args)
    {
        string Option(string name, string absent) => Array.IndexOf(args, name) is >= 0 and var at && at + 1 < args.Length ? args[at + 1] : absent;
        if (args is ["bare", var file]) { return Bare(file); }
        int megabytes = int.Parse(Option("--mb", "100"), CultureInfo.InvariantCulture), blocks = int.Parse(Option("--blocks", "3"), CultureInfo.InvariantCulture);
        var folder = Directory.CreateTempSubdirectory("hil-bench-");
        try
        {
            string report = Measured(folder.FullName, megabytes, blocks, args.Contains("--tool"));
            Console.Write(report);
            if (Option("--write", "") is { Length: > 0 } path) { File.WriteAllText(path, report); }
            return 0;
        }
        finally { folder.Delete(recursive: true); }
    }

    private static string Measured(string folder, int megabytes, int blocks, bool tool)
    {
        string log = Path.Combine(folder, "log.csv"), hil = Path.Combine(AppContext.BaseDirectory, "hil"), map = Path.Combine(folder, "map.yaml");
        Generate(log, megabytes * 1_000_000L);
        File.WriteAllText(map, "import: bench\ncolumns: {t: time_us, ax: ax, ay: ay, az: az, gx: gx, gy: gy, gz: gz}\nacceleration: mg\ngyro: dps\ntime: us\nat_gaps: split\n");
        (string Name, string[] Command)[] contenders =
        [
            ("`hil import`: preview (one pass)", [hil, "import", log, "--map", map, "--out", folder, "--name", "r", "--replace"]),
            ("`hil import --write` (two passes, CSV)", [hil, "import", log, "--map", map, "--out", folder, "--name", "r", "--write", "--replace"]),
            ("`hil import --write --to parquet`", [hil, "import", log, "--map", map, "--out", folder, "--name", "r", "--to", "parquet", "--write", "--replace"]),
            ("bare read with Sep, every cell as double", [Environment.ProcessPath!, "import", "bare", log]),
            ("`pandas.read_csv`", ["/usr/bin/python3", "-c", "import pandas,sys; print(len(pandas.read_csv(sys.argv[1])))", log]),
        ];
        if (tool) { contenders = contenders[..3]; }
        var results = contenders.ToDictionary(c => c.Name, _ => new List<(double Seconds, double MiB)>());
        for (int i = 0; i < blocks; i++)
        {
            foreach (var (name, command) in contenders) { results[name].Add(Timed(command)); }
        }
        double size = new FileInfo(log).Length / 1e6;
        var text = new StringBuilder();
        void Line(FormattableString line) => text.Append(FormattableString.Invariant(line)).Append('\n');
        Line($"# Import of a log of {size:0} MB");
        Line($"");
        Line($"{RuntimeInformation.OSDescription.Trim()}, {RuntimeInformation.ProcessArchitecture}, {Environment.ProcessorCount} cores; {RuntimeInformation.FrameworkDescription}; pandas {Ask("import pandas; print(pandas.__version__)")}.");
        Line($"Seven columns (stamps in µs, six channels), a gap every ten minutes; start-up counts. {blocks} block{(blocks == 1 ? "" : "s")} in turn, the median and [least, greatest] of them. Needs python3-pandas. Made by `dotnet run -c Release --project tests/HilRunner.Benchmarks -- import --mb {megabytes} --blocks {blocks}{(tool ? " --tool" : "")} --write FILE`.");
        Line($"");
        Line($"| | MB/s | most memory, MiB |");
        Line($"|---|---|---|");
        foreach (var (name, _) in contenders) { Line($"| {name} | {Spread(results[name].Select(r => size / r.Seconds))} | {Spread(results[name].Select(r => r.MiB))} |"); }
        return text.ToString();
    }

    private static void Generate(string path, long bytes)
    {
        var random = new Random(5);
        using var writer = new StreamWriter(path, append: false, new UTF8Encoding(false), 1 << 16) { NewLine = "\n" };
        writer.WriteLine("time_us,ax,ay,az,gx,gy,gz");
        long us = 0;
        var row = new StringBuilder();
        for (long i = 0; writer.BaseStream.Position < bytes; i++)
        {
            us += i > 0 && i % (long)(RateHz * 600) == 0 ? 5_000_000 : (long)(1e6 / RateHz);
            row.Clear().Append(CultureInfo.InvariantCulture, $"{us},{random.Next(-2000, 2000)},{random.Next(-2000, 2000)},{random.Next(-2000, 2000)}");
            for (int g = 0; g < 3; g++) { row.Append(CultureInfo.InvariantCulture, $",{random.Next(-25_000, 25_000) / 100m}"); }
            writer.WriteLine(row);
        }
    }

    private static int Bare(string path)
    {
        double sum = 0;
        using var reader = Sep.New(',').Reader().FromFile(path);
        foreach (var row in reader)
        {
            for (int i = 0; i < row.ColCount; i++) { sum += row[i].Parse<double>(); }
        }
        Console.WriteLine(sum);
        return 0;
    }

    private static (double Seconds, double MiB) Timed(string[] command)
    {
        string[] figures = Start(["-c", Measure, .. command]).Split(' ');
        return (double.Parse(figures[0], CultureInfo.InvariantCulture), double.Parse(figures[1], CultureInfo.InvariantCulture));
    }

    private static string Ask(string statement) => Start(["-c", statement]);

    private static string Start(string[] arguments)
    {
        using var process = Process.Start(new ProcessStartInfo("/usr/bin/python3", arguments) { RedirectStandardOutput = true, RedirectStandardError = true })!;
        var errors = process.StandardError.ReadToEndAsync();
        string output = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        return process.ExitCode == 0 ? output.Trim() : throw new InvalidOperationException($"exit code {process.ExitCode}: {errors.Result}");
    }

    private static string Spread(IEnumerable<double> figures)
    {
        double[] sorted = [.. figures.Order()];
        return FormattableString.Invariant($"{sorted[sorted.Length / 2]:0} [{sorted[0]:0}, {sorted[^1]:0}]");
    }
}
