namespace HilRunner.Core.Recordings.Import;

/// <summary>How the numbers of a channel become those of the recording's column.</summary>
/// <param name="Column">As in the native header: ax_g, gz_radps.</param>
/// <param name="Factor">Column's number = file's number × this, exactly.</param>
/// <param name="ToBase">Column's unit → g or °/s.</param>
internal sealed record ChannelPlan(string Channel, string Column, decimal Factor, ColumnUse ToBase)
{
    public static ChannelPlan Of(string channel, ImportUnit unit)
    {
        var (suffix, known, factor) = unit.Unit switch
        {
            "g" => ("_g", "g", 1m),
            "mg" => ("_mg", "mg", 1m),
            "m/s2" => ("_mps2", "m/s2", 1m),
            "dps" => ("_dps", "dps", 1m),
            "mdps" => ("_dps", "dps", 0.001m),
            "rad/s" => ("_radps", "rad/s", 1m),
            _ => throw new ArgumentOutOfRangeException(nameof(unit), unit, "no such unit"),
        };
        return new(channel, channel + suffix, factor * unit.PerCount, ColumnUse.Of(channel, known));
    }
}
