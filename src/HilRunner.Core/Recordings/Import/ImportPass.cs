using HilRunner.Core.Files;
using HilRunner.Core.Time;

namespace HilRunner.Core.Recordings.Import;

/// <summary>A stretch of rows that becomes one recording.</summary>
internal sealed class ImportBlock(int index, string key, BreakCause cause)
{
    /// <summary>0-based, in the order of their first rows.</summary>
    public int Index => index;
    public string Key => key;
    /// <summary>Why it starts here: none for the first of its key.</summary>
    public BreakCause Cause => cause;
    public long LastNs { get; set; }
}

/// <summary>What is done with the blocks of a pass. Blocks of different keys may be open at once.</summary>
internal interface IBlockTarget
{
    void Begin(ImportBlock block, ImportRow first);
    void Row(ImportBlock block, ImportRow row);
    void End(ImportBlock block);
}

/// <summary>How many rows there were and where they went: the first is the sum of the others.</summary>
/// <param name="Read">Rows of data in the file; comments, empty lines, header and skipped lines are none.</param>
/// <param name="Used">Rows that are in recordings.</param>
/// <param name="LeftOut">Rows that where leaves out.</param>
/// <param name="Bad">Rows that cannot be read.</param>
/// <param name="WithoutPartner">Rows at whose time the second file has nothing.</param>
/// <param name="TooShort">Rows in stretches too short to be a recording.</param>
public sealed record ImportRowCounts(long Read, long Used, long LeftOut, long Bad, long WithoutPartner, long TooShort);

/// <summary>One pass over all rows, parted into blocks: the same in every pass over the same file.</summary>
internal static class ImportPass
{
    /// <summary>Most values of split_by at once: each is a file that is written.</summary>
    public const int MostKeys = 200;

    /// <summary>Most recordings of one import.</summary>
    public const int MostBlocks = 100_000;

    /// <param name="rows">At its start.</param>
    /// <param name="steps">Null: no time column.</param>
    /// <param name="faults">Receives breaks where the map does not split at them.</param>
    public static ImportRowCounts Run(string path, IImportRows rows, ImportMap map, StepRule? steps, IBlockTarget target, FaultList faults)
    {
        var open = new Dictionary<string, ImportBlock>();
        long taken = 0, leftOut = 0, bad = 0, alone = 0;
        int blocks = 0;
        ImportBlock? last = null;
        bool broken = false;
        while (rows.MoveNext())
        {
            var row = rows.Row;
            if (row.Outcome != RowOutcome.Taken)
            {
                switch (row.Outcome)
                {
                    case RowOutcome.LeftOut: leftOut++; break;
                    case RowOutcome.Bad: bad += row.Lines; break;
                    default: alone++; break;
                }
                // A sample is missing here: whoever's it was, nothing may close up over it.
                if (row.Outcome == RowOutcome.Bad) { broken = true; }
                if (row.Outcome == RowOutcome.WithoutPartner && steps is null) { broken = true; }
                if (broken) { EndAll(); }
                continue;
            }
            var block = last is not null && (ReferenceEquals(last.Key, row.Key) || last.Key == row.Key) ? last : open.GetValueOrDefault(row.Key);
            var cause = block is null ? broken ? BreakCause.BadRow : BreakCause.None : steps?.Of(row.Ns - block.LastNs) ?? BreakCause.None;
            if (block is not null && cause != BreakCause.None)
            {
                if (!map.SplitAtGaps) { Refuse(row.Line, row.Ns - block.LastNs, cause, steps!, faults); }
                target.End(block);
                open.Remove(row.Key);
                block = null;
            }
            if (block is null)
            {
                if (open.Count == MostKeys || blocks == MostBlocks)
                {
                    throw new BadInputException([new Fault(path, row.Line, 0, open.Count == MostKeys ? $"more than {MostKeys} values of split_by" : $"more than {MostBlocks} recordings",
                        "a column with few values, and long stretches", "split by another column, or say gap:")]);
                }
                block = new(blocks++, row.Key, cause);
                open.Add(row.Key, block);
                broken = false;
                target.Begin(block, row);
            }
            block.LastNs = row.Ns;
            last = block;
            target.Row(block, row);
            taken++;
        }
        EndAll();
        return new(taken + leftOut + bad + alone, taken, leftOut, bad, alone, 0);

        void EndAll()
        {
            foreach (var block in open.Values) { target.End(block); }
            open.Clear();
            last = null;
        }
    }

    private static void Refuse(int line, long stepNs, BreakCause cause, StepRule steps, FaultList faults)
    {
        string found = cause switch
        {
            BreakCause.Doubled => "the same time as the sample before",
            BreakCause.Backward => $"a jump back of {new StimulusTime(-stepNs)}",
            _ => $"a step of {new StimulusTime(stepNs)} from the sample before",
        };
        faults.Add(line, 0, found, steps.Expected, cause == BreakCause.Gap && !steps.Uneven
            ? "--at-gaps split makes a recording of each part; --resample RATE evens out stamps that jitter"
            : "--at-gaps split makes a recording of each part");
    }
}
