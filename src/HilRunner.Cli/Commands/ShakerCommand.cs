using System.CommandLine;
using System.Globalization;
using HilRunner.Application;
using HilRunner.Core.Documents;
using HilRunner.Core.Models;
using HilRunner.Core.Signals.Synthesis;
using HilRunner.Device;
using HilRunner.Device.Shaking;
using HilRunner.Transport.Links;
using HilRunner.Transport.Locks;

namespace HilRunner.Cli.Commands;

/// <summary>A simulated table with a device that rides on it.</summary>
internal static class ShakerCommand
{
    private static readonly TimeSpan s_look = TimeSpan.FromMilliseconds(1);
    private static readonly Option<string> s_at = new("--at") { Description = "Folder for the two names, table and device, that rigs/shaker-sim.yaml opens.", DefaultValueFactory = _ => "/tmp/hil-shaker" };
    private static readonly Option<string> s_model = new("--model") { Description = "Model file of the device that rides on it.", DefaultValueFactory = _ => "scenarios/parcel/model.yaml" };
    private static readonly Option<string> s_axis = new("--axis") { Description = "The device's axis that the table moves along.", DefaultValueFactory = _ => "z" };
    private static readonly Option<string> s_up = new("--up") { Description = "The device's direction that points up.", DefaultValueFactory = _ => "z" };
    private static readonly Option<string> s_watchdog = new("--watchdog") { Description = "It stops when it has heard nothing for this long; none: it moves on.", DefaultValueFactory = _ => "250ms" };
    private static readonly Option<string?> s_fault = new("--fault") { Description = "interlock, limit, hot, lost, silent, wrong, stuck or runaway, and how long after the first move: stuck@2s." };
    private static readonly Option<string> s_natural = new("--natural")
    {
        Description = "The table's own frequency, 1 Hz to 500 Hz: above it, it follows less and less.",
        DefaultValueFactory = _ => "120 Hz",
    };
    private static readonly Option<double> s_damping = new("--damping")
    {
        Description = "Its damping, as a share of the critical, 0.01 to 2: with 0.1 it makes five times what it is told at its own frequency.",
        DefaultValueFactory = _ => 0.5,
    };
    private static readonly Option<double?> s_generator = new("--generator") { Description = "A function generator and an amplifier of so many g per volt drive it, and a voltmeter reads its reference accelerometer, instead of a controller: as rigs/shaker-generator.yaml has it." };
    private static readonly Option<string?> s_trace = new("--trace") { Description = "Write time, place and acceleration of the table to this file, a thousand times a second." };

    public static Command Create()
    {
        var command = new Command(
            "shaker",
            """
            Runs a simulated table on a pseudo-terminal, with a device that rides on it on another, prints where, and goes on until
            interrupted. Nothing real moves.

            Example:
              hil shaker
              hil check rigs/shaker-sim.yaml      (in another terminal)
            """)
        { s_at, s_model, s_axis, s_up, s_watchdog, s_fault, s_natural, s_damping, s_generator, s_trace };
        command.SetAction(RunAsync);
        return command;
    }

    private static async Task<int> RunAsync(ParseResult parsed, CancellationToken stop)
    {
        var options = Options(parsed);
        var model = MotionModel.Read(parsed.GetValue(s_model)!);
        var clock = Composition.Clock;
        var table = new SimulatedTable(options, clock.Now);
        using var tableEnd = PtyHost.Create(clock);
        using var deviceEnd = PtyHost.Create(clock);
        using var device = new VirtualDevice(new() { Model = parsed.GetValue(s_model)!, Senses = true, CreditWindow = 0 }, model, deviceEnd, clock, ride: new(Direction(parsed, s_axis), Direction(parsed, s_up), table.FeltG));
        TableController? controller = null;
        using var meterEnd = parsed.GetValue(s_generator) is null ? null : PtyHost.Create(clock);
        if (parsed.GetValue(s_generator) is { } gPerVolt)
        {
            new GeneratorController(table, gPerVolt, tableEnd).Start();
            new ReferenceMeter(table, meterEnd!).Start();
        }
        else
        {
            controller = new TableController(table, options, tableEnd);
            controller.Start();
        }
        device.Start();
        string folder = OwnFolder.Make(parsed.GetValue(s_at)!);
        (string Name, string? End)[] ends = [(controller is null ? "generator" : "table", tableEnd.Path), ("reference", meterEnd?.Path), ("device", deviceEnd.Path)];
        foreach (var (name, end) in ends)
        {
            if (end is null) { continue; }
            string link = Path.Combine(folder, name);
            File.Delete(link);
            File.CreateSymbolicLink(link, end);
            Console.Out.WriteLine($"{name}: pty:{link}");
        }
        Console.Out.Flush();
        using var trace = parsed.GetValue(s_trace) is { } path ? File.CreateText(path) : null;
        trace?.Write("unix_s,mm,g\n");
        try
        {
            for (; ; )
            {
                var now = clock.Now;
                controller?.Look(now);
                var (mm, g) = table.Truth(now);
                if (trace is not null)
                {
                    trace.Write(string.Create(CultureInfo.InvariantCulture, $"{clock.ToUnixNs(now) / 1e9:0.0000},{mm:0.0000},{g:0.0000}\n"));
                    trace.Flush();
                }
                await Task.Delay(s_look, clock.Provider, stop).ConfigureAwait(false);
            }
        }
        catch (OperationCanceledException) { return ExitCodes.Pass; }
    }

    private static SimulatedTableOptions Options(ParseResult parsed)
    {
        string watchdog = parsed.GetValue(s_watchdog)!;
        // A generator has none.
        var options = new SimulatedTableOptions
        {
            NaturalHz = Natural(parsed.GetValue(s_natural)!),
            Damping = Damping(parsed.GetValue(s_damping)),
            Watchdog = watchdog == "none" || parsed.GetValue(s_generator) is not null ? null : Duration("--watchdog", watchdog),
        };
        if (parsed.GetValue(s_fault) is not { } fault) { return options; }
        string[] parts = fault.Split('@');
        TimeSpan after = parts.Length == 2 ? Duration("--fault", parts[1]) : TimeSpan.Zero;
        return parts[0] switch
        {
            "interlock" => options with { InterlockAfter = after },
            "limit" => options with { LimitAfter = after },
            "hot" => options with { HotAfter = after },
            "lost" => options with { LostAfter = after },
            "silent" => options with { SilentAfter = after },
            "wrong" => options with { WrongAfter = after },
            "stuck" => options with { StuckAfter = after },
            "runaway" => options with { RunawayAfter = after },
            _ => throw new UsageException($"--fault {fault}: expected interlock, limit, hot, lost, silent, wrong, stuck or runaway, and @TIME"),
        };
    }

    private static double Natural(string text)
    {
        double hz;
        try { hz = Quantity.Rate(text).Hertz; }
        catch (FormatException fault) { throw new UsageException($"--natural: {fault.Message}"); }
        return hz is >= 1 and <= 500 ? hz : throw new UsageException($"--natural {text}: expected 1 Hz to 500 Hz");
    }

    private static double Damping(double share) =>
        share is >= 0.01 and <= 2 ? share : throw new UsageException($"--damping {share}: expected 0.01 to 2");

    private static Direction Direction(ParseResult parsed, Option<string> option)
    {
        string text = parsed.GetValue(option)!;
        return text.TrimStart('-') is "x" or "y" or "z" && text.Length <= 2 ? new(text[^1], text[0] == '-') : throw new UsageException($"{option.Name} {text}: expected x, y, z, -x, -y or -z");
    }

    private static TimeSpan Duration(string option, string text)
    {
        try { return Quantity.Duration(text); }
        catch (FormatException fault) { throw new UsageException($"{option}: {fault.Message}"); }
    }
}
