namespace HilRunner.Fuzz.Tests.Running;

/// <summary>A case that a reader neither accepted nor refused with a sentence.</summary>
/// <param name="Place">
/// The exception and where in the tool it came from, or the promise that was broken: cases of one place are likely one fault.
/// </param>
/// <param name="What">All that is known of it.</param>
internal sealed record WrongCase(int Seed, string Place, string What);

/// <summary>What became of a row of cases of one reader.</summary>
/// <param name="Wrong">One case of each place.</param>
/// <param name="WrongCount">All of them.</param>
/// <param name="MostAllocated">Bytes, by the case that allocated most.</param>
/// <param name="Peak">Largest working set of the process, in bytes, since it began with this reader.</param>
internal sealed record ReaderResult(int Cases, int SeedsAccepted, int Accepted, int Refused,
    IReadOnlyList<WrongCase> Wrong, int WrongCount, double Seconds, double Slowest, long MostAllocated, long Peak)
{
    /// <summary>Null: the worker that read the row died on the way.</summary>
    public bool Ended { get; init; } = true;

    public static ReaderResult operator +(ReaderResult a, ReaderResult b) => new(
        a.Cases + b.Cases, Math.Max(a.SeedsAccepted, b.SeedsAccepted), a.Accepted + b.Accepted,
        a.Refused + b.Refused, [.. a.Wrong.Concat(b.Wrong).DistinctBy(w => w.Place)], a.WrongCount + b.WrongCount,
        a.Seconds + b.Seconds, Math.Max(a.Slowest, b.Slowest),
        Math.Max(a.MostAllocated, b.MostAllocated), Math.Max(a.Peak, b.Peak));
}
