using System.Globalization;
using HilRunner.Core.Time;
using HilRunner.Engine.Pacing;

namespace HilRunner.Benchmarks.Pacing;

/// <summary>
/// The neighbour that makes garbage: 100 MB/s of 1 000-byte arrays, each kept alive until 20 MB more have come, so that collections find
/// survivors to move. Either in the process of <c>hil run</c> or, beside cyclictest, in a process of its own.
/// </summary>
internal sealed class Allocator : IDisposable
{
    public const int MegabytesPerSecond = 100;
    private const int ArrayBytes = 1000;
    private const int ArraysPerMs = MegabytesPerSecond * 1000 / ArrayBytes;
    private const int Kept = 20_000;
    private readonly HostClock _clock = new(TimeProvider.System);
    private readonly Thread _thread;
    private long _allocated;
    private volatile bool _stopped;

    public Allocator()
    {
        _thread = new Thread(Run) { IsBackground = true, Name = "allocator" };
        _thread.Start();
    }

    /// <summary>Runs a command of hil in this process, with the neighbour beside it.</summary>
    public static int RunHil(string[] arguments)
    {
        using var allocator = new Allocator();
        // The thread that runs the command is the main one, as in hil itself.
        return (int)typeof(Cli.ExitCodes).Assembly.EntryPoint!.Invoke(null, [arguments])!;
    }

    /// <summary>Allocates until standard input ends.</summary>
    public static int RunAlone()
    {
        using var allocator = new Allocator();
        while (Console.In.Read() >= 0) { }
        return 0;
    }

    /// <summary>Megabytes a second that an allocator says it made.</summary>
    /// <exception cref="InvalidOperationException">It said nothing, or fell short by more than a tenth.</exception>
    public static double Reached(string output)
    {
        string? line = output.Split('\n').LastOrDefault(l => l.Contains("allocator: ", StringComparison.Ordinal));
        double reached = line is null ? 0 : double.Parse(line.Split("allocator: ")[1].Split(' ')[0], CultureInfo.InvariantCulture);
        return reached >= 0.9 * MegabytesPerSecond
            ? reached
            : throw new InvalidOperationException($"the neighbour allocated {reached} MB/s instead of {MegabytesPerSecond}");
    }

    public void Dispose()
    {
        _stopped = true;
        _thread.Join();
    }

    private void Run()
    {
        var pacing = new PacingClock(_clock, TimeSpan.Zero);
        byte[][] kept = new byte[Kept][];
        HostTime begin = _clock.Now;
        int next = 0;
        for (int ms = 1; !_stopped; ms++)
        {
            pacing.WaitUntil(begin + TimeSpan.FromMilliseconds(ms), () => _stopped);
            for (int i = 0; i < ArraysPerMs; i++)
            {
                kept[next] = new byte[ArrayBytes];
                next = (next + 1) % Kept;
                _allocated += ArrayBytes;
            }
        }
        double seconds = (_clock.Now - begin) / 1e9;
        Console.Error.WriteLine(string.Create(CultureInfo.InvariantCulture, $"allocator: {_allocated / 1e6 / seconds:0.0} MB/s, {GC.CollectionCount(0)} collections"));
    }
}
