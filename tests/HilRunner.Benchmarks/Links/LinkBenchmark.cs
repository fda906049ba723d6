using System.Globalization;
using System.Runtime.InteropServices;
using System.Text;
using HilRunner.Core.Time;

namespace HilRunner.Benchmarks.Links;

/// <summary>
/// Moves bytes over one pseudo-terminal by a link, by plain C and by System.IO.Ports, in turns, so that what else the machine
/// does meets all three alike. Read the ratios, not the figures.
/// </summary>
internal static class LinkBenchmark
{
    private const int Blocks = 9;
    private const double StreamSeconds = 0.4;
    private const int RoundTrips = 2000;
    private const int SerialPortRoundTrips = 100;

    /// <param name="args">--write FILE: the result goes there as well.</param>
    public static int Run(string[] args)
    {
        string? file = args is ["--write", var path] ? path : null;
        if (args.Length > 0 && file is null)
        {
            Console.Error.WriteLine("usage: links [--write FILE]");
            return 64;
        }
        string report = Measure();
        Console.Write(report);
        if (file is not null) { File.WriteAllText(file, report); }
        return 0;
    }

    private static string Measure()
    {
        var clock = new HostClock(TimeProvider.System);
        using var c = new PlainC();
        string source = c.StartFarEnd("source");
        string echo = c.StartFarEnd("echo");
        // Once without counting: code is compiled, caches are filled.
        LinkContenders.ReadStream(clock, source, StreamSeconds);
        LinkContenders.ReadAndDecodeStream(clock, source, StreamSeconds);
        LinkContenders.Ping(clock, echo, RoundTrips);
        LinkContenders.PingBySerialPort(clock, echo, 3);

        var streams = new List<(double Link, double Decoded, double C, double SerialPort)>();
        var pings = new List<(long[] Link, long[] C, long[] SerialPort)>();
        for (int block = 0; block < Blocks; block++)
        {
            streams.Add((LinkContenders.ReadStream(clock, source, StreamSeconds), LinkContenders.ReadAndDecodeStream(clock, source, StreamSeconds), c.ReadStream(source, StreamSeconds),
                LinkContenders.ReadStreamBySerialPort(clock, source, StreamSeconds)));
            pings.Add((LinkContenders.Ping(clock, echo, RoundTrips), c.Ping(echo, RoundTrips),
                LinkContenders.PingBySerialPort(clock, echo, SerialPortRoundTrips)));
        }
        return Describe(streams, pings);
    }

    private static string Describe(List<(double Link, double Decoded, double C, double SerialPort)> streams, List<(long[] Link, long[] C, long[] SerialPort)> pings)
    {
        var text = new StringBuilder();
        void Line(FormattableString line) => text.Append(FormattableString.Invariant(line)).Append('\n');
        Line($"# Links: bytes over one pseudo-terminal");
        Line($"");
        Line($"{RuntimeInformation.OSDescription.Trim()}, kernel {Environment.OSVersion.Version}, {RuntimeInformation.ProcessArchitecture}, {Environment.ProcessorCount} cores; {RuntimeInformation.FrameworkDescription}; {FirstLine(PlainC.Run("gcc", "--version"))}; System.IO.Ports {typeof(System.IO.Ports.SerialPort).Assembly.GetName().Version}.");
        Line($"{Blocks} blocks of link, C, System.IO.Ports in turn; the machine's load average was {Load()}. Values: median over blocks [least, greatest].");
        Line($"Made by `dotnet run -c Release --project tests/HilRunner.Benchmarks -- links --write FILE`.");
        Line($"");
        Line($"| | link | plain C | System.IO.Ports | link / C | target |");
        Line($"|---|---|---|---|---|---|");
        Row(text, "stream read, MB/s", [.. streams.Select(s => (s.Link / 1e6, s.C / 1e6, s.SerialPort / 1e6))], "at least 0.8");
        Row(text, "stream read and decoded to messages, MB/s", [.. streams.Select(s => (s.Decoded / 1e6, s.C / 1e6, s.SerialPort / 1e6))], "at least 0.8");
        Row(text, "16-byte round trip, median, µs", [.. pings.Select(p => (Quantile(p.Link, 0.5), Quantile(p.C, 0.5), Quantile(p.SerialPort, 0.5)))], "at most 1.5");
        Row(text, "16-byte round trip, p99, µs", [.. pings.Select(p => (Quantile(p.Link, 0.99), Quantile(p.C, 0.99), Quantile(p.SerialPort, 0.99)))], "–");
        Line($"");
        Line($"C and System.IO.Ports only read in either row of streams. The ratio is taken within each block. A round trip goes from the stamp that Write returns to the stamp of the answer's last byte");
        Line($"({RoundTrips} of them in a block; {SerialPortRoundTrips} for System.IO.Ports, whose p99 is therefore its second greatest).");
        return text.ToString();
    }

    private static void Row(StringBuilder text, string name, (double Link, double C, double SerialPort)[] blocks, string target)
    {
        string[] cells = [Spread(blocks.Select(b => b.Link)), Spread(blocks.Select(b => b.C)), Spread(blocks.Select(b => b.SerialPort)), Spread(blocks.Select(b => b.Link / b.C))];
        text.Append("| ").AppendJoin(" | ", [name, .. cells, target]).Append(" |\n");
    }

    private static string Spread(IEnumerable<double> values)
    {
        double[] sorted = [.. values.Order()];
        return string.Create(CultureInfo.InvariantCulture, $"{Figure(sorted[sorted.Length / 2])} [{Figure(sorted[0])}, {Figure(sorted[^1])}]");
    }

    private static string Figure(double value) => value.ToString(value >= 100 ? "0" : value >= 10 ? "0.0" : "0.00", CultureInfo.InvariantCulture);

    /// <summary>Type 1 of Hyndman and Fan 1996: the smallest value with at least that share at or below it; in µs.</summary>
    private static double Quantile(long[] ns, double p)
    {
        long[] sorted = [.. ns.Order()];
        return sorted[(int)Math.Ceiling(p * sorted.Length) - 1] / 1000.0;
    }

    private static string FirstLine(string text) => text.Split('\n')[0];

    private static string Load() => File.Exists("/proc/loadavg") ? File.ReadAllText("/proc/loadavg").Split(' ')[0] : "unknown";
}
