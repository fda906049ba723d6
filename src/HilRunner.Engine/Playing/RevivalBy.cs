namespace HilRunner.Engine.Playing;

/// <summary>What a silent device was asked again after; the words stand in the capture's events.</summary>
public static class RevivalBy
{
    /// <summary>Nothing was done: it was asked once more.</summary>
    public const string Waiting = "waiting";
    /// <summary>The rig's reset message, or its recover.reset steps.</summary>
    public const string Reset = "reset";
    /// <summary>The rig's recover.power_cycle steps.</summary>
    public const string PowerCycle = "power cycle";
}
