using CsCheck;
using HilRunner.Core.Runs;
using HilRunner.Core.Time;

namespace HilRunner.Scoring.Tests;

/// <summary>Small random inputs on whole nanoseconds, so that every definition can also be worked out tick by tick.</summary>
internal static class RandomInput
{
    public const string Event = "dropped";

    private static readonly Gen<string> RefClass = Gen.Frequency(
        (3, Gen.Const("a")), (3, Gen.Const("b")), (2, Gen.Const("c")), (1, Gen.Const(Event)), (1, Gen.Const("skip")), (1, Gen.Const("")));

    private static readonly Gen<string> SaidClass = Gen.Frequency(
        (3, Gen.Const("a")), (3, Gen.Const("b")), (2, Gen.Const("c")), (1, Gen.Const(Event)), (1, Gen.Const("x")), (1, Gen.Const("(none)")));

    public static readonly Gen<ScoreInput> Any =
        Gen.Select(
            Gen.Select(RefClass, Gen.Int[1, 9], Gen.Int[1, 2]).Array[0, 9],
            Gen.Select(Gen.Int[-4, 50], SaidClass, Gen.Int[0, 3].Nullable(), Gen.Int[0, 9].Nullable(), Gen.Int[0, 3].Nullable()).Array[0, 16],
            Gen.Int[0, 50], Gen.Int[0, 4], Gen.Int[1, 6], Gen.Int[1, 9].Nullable(), Gen.Select(Gen.Int[0, 3], Gen.Int[0, 3]))
        .Select((pieces, said, end, grace, within, stale, held) =>
        {
            var (played, hold) = held;
            var reference = new List<ReferenceInterval>();
            long at = 0;
            foreach (var (name, length, trial) in pieces)
            {
                if (name.Length > 0) { reference.Add(new(new(at), new(at + length), name, trial)); }
                at += length;
            }
            return new ScoreInput
            {
                Reference = reference,
                Decisions = [.. said.Select(s => new Decision(new(s.Item1), s.Item2)
                {
                    UncertaintyNs = s.Item3, ArrivalNs = s.Item1 + s.Item4, ArrivalUncertaintyNs = s.Item5,
                })],
                // The fastest rate there is: onsets at 0 are those of sample 0, all others of sample 1, which half of the inputs lack.
                Playout = [.. Enumerable.Range(0, played).Select(n => new PlayoutRow(n, n * 100, n * 3 + 1))],
                Rate = new SampleRate(10_000_000_000),
                End = new StimulusTime(end),
                Rules = new() { Events = [Event], Unscored = ["skip"], GraceNs = grace, WithinNs = within, StaleAfterNs = stale,
                    HoldNs = hold },
            };
        });
}
