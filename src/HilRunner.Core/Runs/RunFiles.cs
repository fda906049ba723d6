namespace HilRunner.Core.Runs;

/// <summary>Names of the files in a run's folder.</summary>
public static class RunFiles
{
    public const string Manifest = "run.yaml";
    public const string Capture = "link.pcapng";
    /// <summary>
    /// A silent device asked again after a reset or a power cycle from outside, on the link that stayed open: with the rung's
    /// number.
    /// </summary>
    public static string Revival(int rung) => $"revival-{rung}.pcapng";
    /// <summary>Where an adapter decodes: what it said of the capture, so that it need not be started again.</summary>
    public const string Messages = "messages.jsonl";
    public const string Playout = "playout.csv";
    public const string Expected = "expected.csv";
    public const string Decisions = "decisions.csv";
    /// <summary>What was played, as a recording in the native form, in physical units after quantisation, lead left out.</summary>
    public const string Stimulus = "stimulus.csv";
    /// <summary>Moved by hand: when each prompt was told, marked, and found in the motion.</summary>
    public const string Marks = "marks.csv";
    /// <summary>On the table: what was kept and lost of the motion, and how the table was.</summary>
    public const string TableRecord = "table.json";
    /// <summary>On the table: what it was told and what it measured, position by position.</summary>
    public const string TableMotion = "table_motion.csv";
    public const string Score = "score.json";
    public const string Report = "report.html";
    public const string Log = "log.clef";
}
