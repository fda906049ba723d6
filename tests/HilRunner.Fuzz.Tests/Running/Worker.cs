using System.Diagnostics;
using System.Text.Json;
using System.Text.RegularExpressions;
using HilRunner.Fuzz.Tests.Mutations;
using HilRunner.Fuzz.Tests.Readers;
using HilRunner.Testing;

namespace HilRunner.Fuzz.Tests.Running;

/// <summary>
/// Reads cases in a process of its own, and watches what they cost and touch. Asked on standard input, answers on standard
/// output, line by line.
/// </summary>
internal static partial class Worker
{
    /// <summary>What a case may take.</summary>
    public const double LongestSeconds = 10;

    /// <summary>What the process may hold, in bytes.</summary>
    public const long MostBytes = 300_000_000;

    /// <summary>
    /// What it may hold of it on the heap: a case that wants more ends in an OutOfMemoryException, which says where.
    /// </summary>
    public const long HeapBytes = 180_000_000;

    private static readonly JsonSerializerOptions s_json = new();
    private static readonly Lock s_answer = new();

    /// <param name="Progress">File that holds the seed of the case being read: it outlives the process.</param>
    internal sealed record Question(string Reader, int First, int Count, string Progress);

    public static void Serve(Stock stock)
    {
        var (input, output) = (Console.In, Console.Out);
        while (input.ReadLine() is { } line)
        {
            var question = JsonSerializer.Deserialize<Question>(line, s_json)!;
            using var folder = TestPaths.NewFolder("fuzz");
            Answer(output, Row(stock, question, folder.Path, wrong => Answer(output, wrong)));
        }
    }

    private static void Answer(TextWriter output, ReaderResult result)
    {
        lock (s_answer) { output.WriteLine(JsonSerializer.Serialize(result, s_json)); }
    }

    /// <param name="giveUp">Is told what there is when a case does not end.</param>
    private static ReaderResult Row(Stock stock, Question question, string folder, Action<ReaderResult> giveUp)
    {
        var reader = ReaderTable.Of(question.Reader);
        var seeds = reader.Seeds(stock).ToList();
        using var surroundings = new Surroundings(reader, folder);
        var read = reader.Open(stock, surroundings.Folder);
        var result = new ReaderResult(0, 0, 0, 0, [], 0, 0, 0, 0, 0);
        var whole = Stopwatch.StartNew();
        using var progress = File.OpenHandle(question.Progress, FileMode.OpenOrCreate, FileAccess.Write, FileShare.ReadWrite);
        long began = Stopwatch.GetTimestamp();
        int current = question.First;
        using var watch = new Timer(_ =>
        {
            if (Stopwatch.GetElapsedTime(Interlocked.Read(ref began)).TotalSeconds < LongestSeconds) { return; }
            giveUp(Wrong(result, new(current, "too long", $"takes more than {LongestSeconds} s")) with { Ended = false });
            Environment.Exit(3);
        }, null, 1000, 500);
        int accepted = seeds.Count(seed => Of(read, seed) is null);
        surroundings.Begin();
        for (int i = 0; i < question.Count; i++)
        {
            current = question.First + i;
            RandomAccess.Write(progress, BitConverter.GetBytes(current), 0);
            byte[] bytes = Mutator.Case(seeds, reader.Form, current);
            Interlocked.Exchange(ref began, Stopwatch.GetTimestamp());
            long allocated = GC.GetTotalAllocatedBytes();
            var (refused, wrong) = Judge(reader, read, bytes, surroundings, current);
            allocated = GC.GetTotalAllocatedBytes() - allocated;
            double seconds = Stopwatch.GetElapsedTime(began).TotalSeconds;
            result = result with { Cases = result.Cases + 1,
                MostAllocated = Math.Max(result.MostAllocated, allocated), Slowest = Math.Max(result.Slowest, seconds) };
            result = wrong is not null ? Wrong(result, wrong) : refused
                ? result with { Refused = result.Refused + 1 } : result with { Accepted = result.Accepted + 1 };
        }
        if (surroundings.ProgramsLeft() is { } left) { result = Wrong(result, new(current, "a program was started", left)); }
        return result with { Seconds = whole.Elapsed.TotalSeconds, SeedsAccepted = accepted, Peak = surroundings.Peak };
    }

    private static ReaderResult Wrong(ReaderResult result, WrongCase wrong) => result with
    {
        WrongCount = result.WrongCount + 1,
        Wrong = result.Wrong.Any(w => w.Place == wrong.Place) ? result.Wrong : [.. result.Wrong, wrong],
    };

    /// <summary>Null: accepted.</summary>
    private static Exception? Of(Action<byte[]> read, byte[] bytes)
    {
        try
        {
            read(bytes);
            return null;
        }
        catch (Exception fault) { return fault; }
    }

    private static (bool Refused, WrongCase? Wrong) Judge(
        Reader reader, Action<byte[]> read, byte[] bytes, Surroundings surroundings, int seed)
    {
        Exception? fault = Of(read, bytes);
        if (fault is not null && !reader.Refuses(fault)) { return (false, new(seed, PlaceOf(fault), fault.ToString())); }
        return (fault is not null, surroundings.Broken() is { } broken ? new(seed, broken.Split(':')[0], broken) : null);
    }

    /// <summary>The exception and the innermost place of the tool that it passed.</summary>
    private static string PlaceOf(Exception fault)
    {
        for (; fault.InnerException is { } inner && fault is AggregateException or TypeInitializationException; fault = inner) { }
        string place = OwnFrame().Match(fault.StackTrace ?? "") is { Success: true } frame ? frame.Groups[1].Value : "?";
        return $"{fault.GetType().Name} in {place}";
    }

    [GeneratedRegex(@"at HilRunner\.(?!Fuzz)([\w.<>`+|$]+)")]
    private static partial Regex OwnFrame();
}
